// The extension: starts `handful lsp`, hands the settings on, and shows what
// the server's commands answer.
const { execFile } = require("node:child_process");
const os = require("node:os");
const vscode = require("vscode");
const { LanguageClient, TransportKind } = require("vscode-languageclient/node");
const { find } = require("./command");
const { panels } = require("./panels");

let client; // the running one, or undefined
let turn = Promise.resolve(); // starting and stopping come one after the other
let home; // where the extension lies

function settings() {
  const c = vscode.workspace.getConfiguration("handful");
  return { profile: c.get("profile"), tempo: c.get("tempo"), severities: c.get("severities") };
}

// The command is the person's own setting: what a folder says is not asked.
function command() {
  const set = vscode.workspace.getConfiguration("handful").inspect("path");
  return set?.globalValue || set?.defaultValue || "handful";
}

// What something said, in a sentence, and nothing in it that would be a link.
function said(e) {
  const text = typeof e === "string" ? e : e?.message;
  return (text || "it ended without a word").replaceAll("](", "] (");
}

// Says what is wrong, with ways out of it.
async function complain(text) {
  const ways = {
    "Open the setting": () => vscode.commands.executeCommand("workbench.action.openSettings", "handful.path"),
    "How to install": () => vscode.commands.executeCommand("markdown.showPreview", vscode.Uri.joinPath(home, "README.md")),
    "Try again": restart,
  };
  const chosen = await vscode.window.showErrorMessage(text, ...Object.keys(ways));
  await ways[chosen]?.();
}

// A feature that tells the server what this client can do besides the protocol.
const own = {
  fillClientCapabilities: (c) => (c.experimental = { ...c.experimental, handfulSendAgain: true, handfulTellsFindings: true }),
  initialize: () => {},
  getState: () => ({ kind: "static" }),
  clear: () => {},
};

// What was found, or nothing: the client library takes an answer over in pieces,
// stops in the middle when it has a newer question, and would keep the rest out
// for good, since it says that it has the answer. Whoever is refused asks again.
async function whole(document, previous, token, next) {
  const report = await next(document, previous, token);
  if (token.isCancellationRequested) throw new vscode.CancellationError();
  return report;
}

async function start() {
  const name = command();
  const file = find(name);
  if (!file) {
    complain(`There is no command ${name} here: install it, or set handful.path to where it is.`);
    return;
  }
  const next = new LanguageClient(
    "handful",
    "Handful",
    { command: file, args: ["lsp"], transport: TransportKind.stdio, options: { cwd: os.homedir() } },
    {
      documentSelector: [{ language: "handful", scheme: "file" }, { language: "handful", scheme: "untitled" }],
      initializationOptions: settings(),
      synchronize: { configurationSection: "handful" },
      middleware: {
        provideDiagnostics: whole,
        // What stands above a player runs a command whose answer is a text.
        executeCommand: async (command, args, next) => {
          if (command === "handful.sheet") args = [args[0], args[1] ?? "", "html"];
          const answer = await next(command, args);
          if (typeof answer === "string" && answer) await show(answer, args[1]);
          return answer;
        },
      },
    },
  );
  next.registerFeature(own);
  // The server has lost track of a text: it gets it whole.
  next.onNotification("handful/sendAgain", ({ uri }) => {
    const doc = vscode.workspace.textDocuments.find((d) => next.code2ProtocolConverter.asUri(d.uri) === uri);
    if (!doc) return;
    next.sendNotification("textDocument/didChange", { textDocument: { uri, version: doc.version }, contentChanges: [{ text: doc.getText() }] });
  });
  try {
    await next.start();
    client = next;
  } catch (e) {
    await end(next);
    complain(`${file} did not start: ${said(e)}.`);
  }
}

// Ends a client in whatever state it is.
async function end(old) {
  try {
    if (old?.needsStop()) await old.stop();
    else await old?.dispose();
  } catch {
    // It had ended already, or never ran.
  }
}

function inTurn(f) {
  turn = turn.then(f, f);
  return turn;
}

function restart() {
  return inTurn(async () => {
    const old = client;
    client = undefined;
    await end(old);
    await start();
    look();
  });
}

// Runs one of the server's commands on the document of an editor, and says what
// is wrong; undefined then.
async function tell(editor, command, ...more) {
  if (editor?.document.languageId !== "handful") {
    vscode.window.showInformationMessage("Open a .handful file first.");
    return undefined;
  }
  if (!client?.isRunning()) {
    complain("The handful command is not running.");
    return undefined;
  }
  try {
    const uri = client.code2ProtocolConverter.asUri(editor.document.uri);
    return await client.sendRequest("workspace/executeCommand", { command, arguments: [uri, ...more] });
  } catch (e) {
    vscode.window.showErrorMessage(said(e));
    return undefined;
  }
}

// Runs one of them on the open document and shows the text.
async function run(command, ...more) {
  const text = await tell(vscode.window.activeTextEditor, command, ...more);
  if (text) await show(text, more[0]);
}

// What the walkthrough begins with: one hand has two things at once.
const example = `title "A First Finding"
tempo 96

part "Percussion"
  woodblock | mf 1 2 3 4 | 1 3 | %
  triangle  | -          | 1   | %

player Ida
  R woodblock clamped with rubber-mallet as written
  R triangle clipped with triangle-beater as written
`;

// Shows sheets as a page beside the text, in one panel; other answers as text.
async function show(text, player) {
  if (text.startsWith("<!DOCTYPE html>")) {
    beside.pin(text, player ?? "");
    return;
  }
  const doc = await vscode.workspace.openTextDocument({ content: text, language: "plaintext" });
  await vscode.window.showTextDocument(doc, { viewColumn: vscode.ViewColumn.Beside, preview: true, preserveFocus: true });
}

// Asks the server for something about the document of an editor; undefined when
// there is nothing to ask, or it has no answer.
async function ask(editor, command, ...more) {
  if (!client?.isRunning() || editor?.document.languageId !== "handful") return undefined;
  try {
    const uri = client.code2ProtocolConverter.asUri(editor.document.uri);
    return await client.sendRequest("workspace/executeCommand", { command, arguments: [uri, ...more] });
  } catch {
    return undefined; // the text is not whole: what was there stays
  }
}

const beside = panels({ vscode, ask, tell });

// Does a piece of work again when it was asked for again meanwhile, and never
// twice at a time.
function latest(work) {
  let going = false, again = false;
  return async () => {
    again = true;
    if (going) return;
    going = true;
    try {
      while (again) {
        again = false;
        await work();
      }
    } finally {
      going = false;
    }
  };
}

let item; // at the bottom: coverage, ceiling, what-if tempo

// What stands at the caret: for the item at the bottom, and for the panels that
// follow.
const look = latest(async () => {
  const editor = beside.current();
  if (!editor) {
    item?.hide();
    return;
  }
  const version = editor.document.version;
  const answer = await ask(editor, "handful.standing", ...beside.caret(editor));
  if (!answer) return;
  const at = JSON.parse(answer);
  item.text = at.short;
  item.tooltip = at.long;
  item.show();
  await beside.look(editor, version, at);
});

// An editor that was there before the extension's own settings were keeps the
// indentation of other texts: it is given what is set for this language.
function indent(editor) {
  if (editor?.document.languageId !== "handful") return;
  const set = vscode.workspace.getConfiguration("editor", editor.document);
  const tabSize = set.get("tabSize"), insertSpaces = set.get("insertSpaces");
  if (!tabSize || set.get("detectIndentation") || editor.options.tabSize === tabSize) return;
  editor.options = { tabSize, insertSpaces };
}

// Makes a piece of a file of written parts, as one that is not saved yet.
async function importParts() {
  const file = find(command());
  if (!file) return complain(`There is no command ${command()} here: install it, or set handful.path to where it is.`);
  const [chosen] = (await vscode.window.showOpenDialog({ title: "Import parts", openLabel: "Import", filters: { "MusicXML or MIDI": ["musicxml", "xml", "mxl", "mid", "midi"] } })) ?? [];
  if (!chosen) return undefined;
  const { failed, text, notes } = await new Promise((done) =>
    execFile(file, ["import", chosen.fsPath], { cwd: os.homedir(), maxBuffer: 64 << 20 }, (failed, text, notes) => done({ failed, text, notes: notes.trim() })));
  if (failed || !text) {
    vscode.window.showErrorMessage(said(notes || failed));
    return undefined;
  }
  const doc = await vscode.workspace.openTextDocument({ content: text, language: "handful" });
  await vscode.window.showTextDocument(doc);
  if (notes) vscode.window.showWarningMessage(said(notes));
  return doc;
}

const plans = "handful-plan";
const planned = new Map(); // what a plan would make of a document, by the plan's own URI

// Shows a plan beside what is written, with a way to take it.
async function proposePlan(players) {
  const editor = vscode.window.activeTextEditor;
  if (editor?.document.languageId !== "handful" || !client?.isRunning()) return run("handful.plan", players);
  const of = editor.document, version = of.version;
  let text;
  try {
    text = await client.sendRequest("workspace/executeCommand", { command: "handful.plan", arguments: [client.code2ProtocolConverter.asUri(of.uri), players] });
  } catch (e) {
    vscode.window.showErrorMessage(said(e));
    return;
  }
  if (text === of.getText()) {
    vscode.window.showInformationMessage("The plan is what is written already: there is nothing to change.");
    return;
  }
  const name = of.uri.path.split("/").pop();
  const uri = vscode.Uri.from({ scheme: plans, path: `/${name}`, query: `${version}-${players}-${planned.size}` });
  planned.set(String(uri), { of, version, text });
  await vscode.commands.executeCommand("vscode.diff", of.uri, uri, `${name}: what is written, and a plan for ${players}`);
  const chosen = await vscode.window.showInformationMessage(`A plan for ${players}: take it?`, "Apply the plan");
  if (chosen) await applyPlan(uri);
}

// Makes a document what a plan says, unless it was written in meanwhile.
async function applyPlan(uri) {
  const plan = planned.get(String(uri ?? vscode.window.activeTextEditor?.document.uri));
  if (!plan) return;
  if (plan.of.version !== plan.version) {
    vscode.window.showWarningMessage("The piece was written in since this plan was made: make it anew.");
    return;
  }
  const edit = new vscode.WorkspaceEdit();
  edit.replace(plan.of.uri, new vscode.Range(0, 0, plan.of.lineCount, 0), plan.text);
  await vscode.workspace.applyEdit(edit);
}

exports.activate = async function (context) {
  home = context.extensionUri;
  indent(vscode.window.activeTextEditor);
  item = vscode.window.createStatusBarItem("handful.standing", vscode.StatusBarAlignment.Left);
  item.name = "Handful";
  item.command = "handful.followSheet";
  context.subscriptions.push(
    item,
    vscode.window.onDidChangeActiveTextEditor((editor) => {
      indent(editor);
      return look();
    }),
    vscode.window.onDidChangeTextEditorSelection((e) => (e.textEditor === beside.current() ? look() : undefined)),
    vscode.workspace.onDidChangeTextDocument((e) => (e.document === beside.current()?.document ? look() : undefined)),
    vscode.workspace.registerTextDocumentContentProvider(plans, { provideTextDocumentContent: (uri) => planned.get(String(uri))?.text ?? "" }),
    vscode.workspace.onDidCloseTextDocument((d) => planned.delete(String(d.uri))),
    vscode.commands.registerCommand("handful.followSheet", () => beside.follow(false)),
    vscode.commands.registerCommand("handful.listen", () => beside.follow(true)),
    vscode.commands.registerCommand("handful.showSetup", () => beside.showSetup()),
    vscode.commands.registerCommand("handful.importParts", importParts),
    vscode.commands.registerCommand("handful.applyPlan", applyPlan),
    vscode.commands.registerCommand("handful.openExample", async () => {
      await vscode.window.showTextDocument(await vscode.workspace.openTextDocument({ content: example, language: "handful" }));
    }),
    // Read-only documents of the server's own: the catalogue, what rules mean.
    vscode.workspace.registerTextDocumentContentProvider("handful", {
      provideTextDocumentContent: async (uri) => (await client.sendRequest("handful/document", { uri: uri.toString() })).text,
    }),
    vscode.commands.registerCommand("handful.showSheet", () => run("handful.sheet", "", "html")),
    vscode.commands.registerCommand("handful.showPlan", async () => {
      const players = await vscode.window.showInputBox({ prompt: "For how many players?", validateInput: (v) => (/^[1-9]\d?$/.test(v) ? null : "A number from 1") });
      if (players) await proposePlan(players);
    }),
    vscode.commands.registerCommand("handful.showExport", () => run("handful.export", "musicxml")),
    vscode.commands.registerCommand("handful.restart", restart),
    vscode.workspace.onDidChangeConfiguration((e) => (e.affectsConfiguration("handful.path") ? restart() : undefined)),
  );
  await inTurn(start);
  look();
};

exports.deactivate = () => inTurn(() => end(client));
