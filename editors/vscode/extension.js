// The extension: starts `handful lsp`, hands the settings on, and shows what
// the server's commands answer.
const vscode = require("vscode");
const { LanguageClient, TransportKind } = require("vscode-languageclient/node");

let client;

function settings() {
  const c = vscode.workspace.getConfiguration("handful");
  return { profile: c.get("profile"), tempo: c.get("tempo"), severities: c.get("severities") };
}

async function start() {
  const command = vscode.workspace.getConfiguration("handful").get("path") || "handful";
  client = new LanguageClient(
    "handful",
    "Handful",
    { command, args: ["lsp"], transport: TransportKind.stdio },
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
  try {
    await client.start();
  } catch (e) {
    vscode.window.showErrorMessage(`The handful command did not start (${command}): ${e.message}. Set handful.path to where it is.`);
  }
}

// Runs one of the server's commands on the open document and shows the text.
async function run(command, ...more) {
  const editor = vscode.window.activeTextEditor;
  if (!client || !editor || editor.document.languageId !== "handful") {
    vscode.window.showInformationMessage("Open a .handful file first.");
    return;
  }
  try {
    const uri = client.code2ProtocolConverter.asUri(editor.document.uri);
    await show(await client.sendRequest("workspace/executeCommand", { command, arguments: [uri, ...more] }));
  } catch (e) {
    vscode.window.showErrorMessage(e.message);
  }
}

let sheets;

// Shows sheets as a page beside the text, in one panel; other answers as text.
async function show(text) {
  if (text.startsWith("<!DOCTYPE html>")) {
    if (!sheets) {
      sheets = vscode.window.createWebviewPanel("handful.sheets", "Sheets", { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true }, { enableScripts: false, enableFindWidget: true });
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
    vscode.commands.registerCommand("handful.restart", async () => {
      await client?.stop();
      await start();
    }),
  );
  await start();
};

exports.deactivate = () => client?.stop();
