// The extension: starts `handful lsp`, hands the settings on, and shows what
// the server's commands answer.
const os = require("node:os");
const vscode = require("vscode");
const { LanguageClient, TransportKind } = require("vscode-languageclient/node");
const { find } = require("./command");

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
  fillClientCapabilities: (c) => (c.experimental = { ...c.experimental, handfulSendAgain: true }),
  initialize: () => {},
  getState: () => ({ kind: "static" }),
  clear: () => {},
};

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
        // What stands above a player runs a command whose answer is a text.
        executeCommand: async (command, args, next) => {
          if (command === "handful.sheet") args = [args[0], args[1] ?? "", "html"];
          const answer = await next(command, args);
          if (typeof answer === "string" && answer) await show(answer);
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
  });
}

// Runs one of the server's commands on the open document and shows the text.
async function run(command, ...more) {
  const editor = vscode.window.activeTextEditor;
  if (!editor || editor.document.languageId !== "handful") {
    vscode.window.showInformationMessage("Open a .handful file first.");
    return;
  }
  if (!client?.isRunning()) {
    complain("The handful command is not running.");
    return;
  }
  try {
    const uri = client.code2ProtocolConverter.asUri(editor.document.uri);
    await show(await client.sendRequest("workspace/executeCommand", { command, arguments: [uri, ...more] }));
  } catch (e) {
    vscode.window.showErrorMessage(said(e));
  }
}

let sheets;

// Shows sheets as a page beside the text, in one panel; other answers as text.
async function show(text) {
  if (text.startsWith("<!DOCTYPE html>")) {
    if (!sheets) {
      sheets = vscode.window.createWebviewPanel("handful.sheets", "Sheets", { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true }, { enableScripts: false, enableFindWidget: true, localResourceRoots: [] });
      sheets.onDidDispose(() => (sheets = undefined));
    }
    sheets.webview.html = text;
    sheets.reveal(undefined, true);
    return;
  }
  const doc = await vscode.workspace.openTextDocument({ content: text, language: "plaintext" });
  await vscode.window.showTextDocument(doc, { viewColumn: vscode.ViewColumn.Beside, preview: true, preserveFocus: true });
}

exports.activate = async function (context) {
  home = context.extensionUri;
  context.subscriptions.push(
    // Read-only documents of the server's own: the catalogue, what rules mean.
    vscode.workspace.registerTextDocumentContentProvider("handful", {
      provideTextDocumentContent: async (uri) => (await client.sendRequest("handful/document", { uri: uri.toString() })).text,
    }),
    vscode.commands.registerCommand("handful.showSheet", () => run("handful.sheet", "", "html")),
    vscode.commands.registerCommand("handful.showPlan", async () => {
      const players = await vscode.window.showInputBox({ prompt: "For how many players?", validateInput: (v) => (/^[1-9]\d?$/.test(v) ? null : "A number from 1") });
      if (players) await run("handful.plan", players);
    }),
    vscode.commands.registerCommand("handful.showExport", () => run("handful.export", "musicxml")),
    vscode.commands.registerCommand("handful.restart", restart),
    vscode.workspace.onDidChangeConfiguration((e) => (e.affectsConfiguration("handful.path") ? restart() : undefined)),
  );
  await inTurn(start);
};

exports.deactivate = () => inTurn(() => end(client));
