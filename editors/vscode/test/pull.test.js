// What the client library makes of answers to its questions for what was found:
// the library is the real one, the editor around it and the server are made up.
const assert = require("node:assert");
const Module = require("node:module");
const path = require("node:path");
const test = require("node:test");
const lsp = require("vscode-languageserver-protocol/node");

const library = path.join(__dirname, "..", "node_modules", "vscode-languageclient", "lib", "common") + path.sep;
class CancellationError extends Error {}
const never = () => ({ dispose() {} });

function editor() {
  const shown = {};
  const document = { uri: { toString: () => "file:///a.handful", scheme: "file" }, version: 1, languageId: "handful" };
  const vscode = {
    CancellationError, CancellationTokenSource: lsp.CancellationTokenSource, EventEmitter: lsp.Emitter,
    Uri: class {}, Disposable: { from: (...all) => ({ dispose: () => all.forEach((d) => d.dispose()) }) },
    languages: { match: () => 1, createDiagnosticCollection: () => ({ set: (uri, all) => (shown[uri] = all), delete: (uri) => delete shown[uri], dispose() {} }) },
    window: { activeTextEditor: undefined, onDidChangeActiveTextEditor: never },
    workspace: { textDocuments: [document], notebookDocuments: [] },
  };
  return { vscode, shown, document };
}

// Loads modules with the made up editor in the place of the real one.
function within(fakes, f) {
  const real = Module._load;
  Module._load = (name, ...rest) => fakes[name] ?? real(name, ...rest);
  try {
    return f();
  } finally {
    Module._load = real;
  }
}

// The extension's own way with answers, as it hands it to the library.
async function ours(vscode) {
  let options;
  class LanguageClient {
    constructor(id, name, server, given) { options = given; }
    registerFeature() {}
    onNotification() {}
    async start() {}
    isRunning() { return false; }
  }
  Object.assign(vscode.window, { createStatusBarItem: () => ({ show() {}, hide() {} }), onDidChangeTextEditorSelection: never, visibleTextEditors: [] });
  Object.assign(vscode.workspace, {
    getConfiguration: () => ({ get: () => undefined, inspect: () => ({ globalValue: process.execPath }) }),
    registerTextDocumentContentProvider: never, onDidChangeConfiguration: never, onDidChangeTextDocument: never, onDidCloseTextDocument: never,
  });
  Object.assign(vscode, { commands: { registerCommand: never, executeCommand: async () => {} }, StatusBarAlignment: { Left: 1 }, ViewColumn: {} });
  const extension = within({ vscode, "vscode-languageclient/node": { LanguageClient, TransportKind: {} } }, () => {
    for (const f of ["extension", "command", "panels", "pages"]) delete require.cache[require.resolve("../" + f)];
    return require("../extension");
  });
  await extension.activate({ subscriptions: [], extensionUri: "file:///ext" });
  return options.middleware;
}

// Asks once for three findings; while the first of them is taken over, on a slow
// machine, the server says that there is something new.
async function asked(middleware, { vscode, shown, document }) {
  const { DiagnosticFeature } = within({ vscode }, () => {
    for (const f of ["diagnostic", "features"]) delete require.cache[library + f + ".js"];
    return require(library + "diagnostic.js");
  });
  const { map } = require(library + "utils/async.js");
  let refresh, slow = true, quiet;
  const rested = new Promise((done) => (quiet = done));
  const client = {
    clientOptions: { diagnosticPullOptions: { onChange: true, onSave: false } }, middleware,
    visibleDocuments: { isVisible: () => true, onOpen: never, onClose: never, getResources: () => [] },
    getFeature: () => ({ onNotificationSent: never, onAboutToSendNotification: never, onOpenNotificationSent: never, onChangeNotificationSent: never, onSaveNotificationSent: never, onCloseNotificationSent: never }),
    onRequest: (_, f) => (refresh = f),
    isRunning: () => true,
    error: (...what) => assert.fail(what.join()),
    code2ProtocolConverter: { asUri: String },
    protocol2CodeConverter: {
      asDocumentSelector: (s) => s,
      asDiagnostics: (items, token) => map(items, (item) => {
        if (slow) process.nextTick(refresh);
        for (const end = Date.now() + 30; slow && Date.now() < end; );
        slow = false;
        return item;
      }, token),
    },
    handleFailedRequest: (_type, _token, e) => { throw e; },
    questions: 0,
    async sendRequest(_type, { previousResultId }) {
      if (++this.questions === 2) setTimeout(quiet, 50);
      return previousResultId === "1" ? { kind: "unchanged", resultId: "1" } : { kind: "full", resultId: "1", items: ["one", "two", "three"] };
    },
  };
  const feature = new DiagnosticFeature(client);
  feature.initialize({ diagnosticProvider: { interFileDependencies: true, workspaceDiagnostics: false } }, [{ language: "handful" }]);
  await rested;
  feature.clear();
  return [...shown[document.uri] ?? []].filter((d) => d !== undefined);
}

test("an answer of which a part was taken over when a newer question came is asked for again", async () => {
  const desk = editor();
  assert.deepStrictEqual(await asked(await ours(desk.vscode), desk), ["one", "two", "three"]);
});

test("the library by itself keeps a part of such an answer: once this fails, nothing of our own is needed", async () => {
  assert.deepStrictEqual(await asked({}, editor()), ["one"]);
});
