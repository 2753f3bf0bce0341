// The extension with the editor and the client library put in the place of the
// real ones: what it starts, what it says, and how it comes back.
const assert = require("node:assert");
const fs = require("node:fs");
const Module = require("node:module");
const os = require("node:os");
const path = require("node:path");
const test = require("node:test");

// A fresh extension, with everything it does written down.
function load(given = {}) {
  const seen = { said: [], commands: {}, posted: [], picked: given.picked, ran: [], clients: [], sent: [], asked: [], panels: [], edits: [], providers: {}, on: {}, configured: undefined };
  const config = { path: { defaultValue: "handful", ...given.path } };
  const vscode = {
    ViewColumn: { Beside: 2 },
    StatusBarAlignment: { Left: 1 },
    Range: class { constructor(...at) { this.at = at; } },
    Position: class { constructor(line, character) { Object.assign(this, { line, character }); } },
    Selection: class { constructor(from, to) { Object.assign(this, { from, to, active: to }); } },
    TextEditorRevealType: { InCenterIfOutsideViewport: 2 },
    WorkspaceEdit: class { replace(...what) { this.what = what; } },
    Uri: { joinPath: (u, ...p) => [u, ...p].join("/"), from: (u) => ({ ...u, toString: () => `${u.scheme}:${u.path}?${u.query}` }) },
    workspace: {
      textDocuments: given.documents ?? [],
      getConfiguration: () => ({ get: (k) => config[k]?.workspaceValue ?? config[k]?.globalValue ?? config[k]?.defaultValue, inspect: (k) => config[k] }),
      registerTextDocumentContentProvider: (scheme, p) => (seen.providers[scheme] = p),
      onDidChangeConfiguration: (f) => (seen.configured = f),
      onDidChangeTextDocument: (f) => (seen.on.text = f),
      onDidCloseTextDocument: (f) => (seen.on.close = f),
      openTextDocument: async (what) => what,
      applyEdit: async (e) => seen.edits.push(e.what),
    },
    window: {
      activeTextEditor: given.editor ?? { document: { languageId: "handful", uri: "file:///a.handful" }, selection: { active: { line: 0 } } },
      createStatusBarItem: () => (seen.item = { shown: false, show() { this.shown = true; }, hide() { this.shown = false; } }),
      createWebviewPanel: () => {
        const panel = { webview: { html: "", onDidReceiveMessage: (f) => (panel.says = f), postMessage: (m) => seen.posted.push(m) }, reveal() {}, onDidDispose: (f) => (panel.close = f) };
        seen.panels.push(panel);
        return panel;
      },
      onDidChangeActiveTextEditor: (f) => (seen.on.editor = f),
      onDidChangeTextEditorSelection: (f) => (seen.on.caret = f),
      showTextDocument: async (d) => seen.opened = d,
      showInputBox: async () => given.input,
      showOpenDialog: async () => given.picked,
      visibleTextEditors: given.editor ? [given.editor] : [],
      showWarningMessage: async (text) => seen.said.push({ text, ways: [] }),
      showErrorMessage: async (text, ...ways) => (seen.said.push({ text, ways }), given.choose?.(ways)),
      showInformationMessage: async (text, ...ways) => (seen.said.push({ text, ways }), given.choose?.(ways)),
    },
    commands: { registerCommand: (name, f) => (seen.commands[name] = f), executeCommand: async (...a) => seen.ran.push(a) },
  };
  class LanguageClient {
    constructor(id, name, server, options) {
      Object.assign(this, { server, options, state: "new", notes: {}, features: [], code2ProtocolConverter: { asUri: (u) => u } });
      seen.clients.push(this);
    }
    registerFeature(f) { this.features.push(f); }
    onNotification(name, f) { this.notes[name] = f; }
    sendNotification(...a) { seen.sent.push(a); }
    async sendRequest(method, p) {
      seen.asked.push([p.command, ...p.arguments]);
      const answer = given.answers?.[p.command]?.(...p.arguments);
      if (answer === undefined) throw new Error("no [x](command:y) here");
      return answer;
    }
    needsStop() { return this.state === "running"; }
    isRunning() { return this.state === "running"; }
    async start() {
      const how = given.starts?.shift();
      if (how) {
        this.state = "startFailed";
        throw how.error;
      }
      this.state = "running";
    }
    async stop() {
      if (this.state !== "running") throw new Error(`Client is not running and can't be stopped. It's current state is: ${this.state}`);
      this.state = "stopped";
    }
    async dispose() { return this.stop(); }
  }
  const fakes = { vscode, "vscode-languageclient/node": { LanguageClient, TransportKind: { stdio: 0 } } };
  const real = Module._load;
  Module._load = (name, ...rest) => fakes[name] ?? real(name, ...rest);
  try {
    for (const f of ["../extension", "../command", "../panels", "../pages"]) delete require.cache[require.resolve(f)];
    seen.extension = require("../extension");
  } finally {
    Module._load = real;
  }
  seen.config = config;
  seen.vscode = vscode;
  seen.activate = () => seen.extension.activate({ subscriptions: [], extensionUri: "file:///ext" });
  return seen;
}

const folder = fs.mkdtempSync(path.join(os.tmpdir(), "handful-"));
function program(name) {
  const file = path.join(folder, name);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  fs.writeFileSync(file, "#!/bin/sh\n", { mode: 0o755 });
  return file;
}
const settled = () => new Promise((done) => setTimeout(done, 20));
const nowhere = { globalValue: path.join(folder, "not-there") };

test("a missing command says so, with ways out", async () => {
  const choices = ["Open the setting", "How to install", undefined];
  const x = load({ path: nowhere, choose: () => choices.shift() });
  await x.activate();
  await x.commands["handful.restart"]();
  await x.commands["handful.showSheet"]();
  await settled();
  assert.strictEqual(x.clients.length, 0, "nothing is started that is not there");
  assert.strictEqual(x.said.length, 3);
  for (const s of x.said) {
    assert.doesNotMatch(s.text, /undefined|null|state is/);
    assert.deepStrictEqual(s.ways, ["Open the setting", "How to install", "Try again"]);
  }
  assert.match(x.said[0].text, /not-there.*handful\.path/);
  assert.deepStrictEqual(x.ran, [["workbench.action.openSettings", "handful.path"], ["markdown.showPreview", "file:///ext/README.md"]]);
});

test("setting the path starts the command", async () => {
  const x = load({ path: nowhere });
  await x.activate();
  x.config.path.globalValue = program("good");
  await x.configured({ affectsConfiguration: (s) => s === "handful.path" });
  assert.strictEqual(x.clients.length, 1);
  assert.strictEqual(x.clients[0].server.command, path.join(folder, "good"));
  await x.configured({ affectsConfiguration: (s) => s === "handful.tempo" });
  assert.strictEqual(x.clients.length, 1, "other settings go to the server that runs");
});

test("it starts again from every state", async () => {
  const broken = [{ error: undefined }, { error: new Error("it fell over") }, { error: "just words" }];
  const x = load({ path: { globalValue: program("good") }, starts: [...broken] });
  await x.activate();
  for (let i = 0; i < 4; i++) await x.commands["handful.restart"](); // broken, broken, running, running again
  await settled();
  assert.deepStrictEqual(x.clients.map((c) => c.state), ["startFailed", "startFailed", "startFailed", "stopped", "running"]);
  assert.strictEqual(x.said.length, 3);
  assert.match(x.said[0].text, /ended without a word/);
  assert.match(x.said[1].text, /it fell over/);
  for (const s of x.said) assert.doesNotMatch(s.text, /undefined|can't be stopped/);
  x.clients[4].state = "stopped"; // it died meanwhile
  await x.commands["handful.restart"]();
  assert.strictEqual(x.clients[5].state, "running");
  await Promise.all([x.commands["handful.restart"](), x.commands["handful.restart"]()]);
  assert.strictEqual(x.clients.filter((c) => c.state === "running").length, 1, "never two at a time");
  await x.extension.deactivate();
  assert.strictEqual(x.clients.filter((c) => c.state === "running").length, 0);
});

test("what a folder says of the command is not asked, nor what lies in it", async () => {
  const x = load({ path: { globalValue: program("good"), workspaceValue: program("evil"), workspaceFolderValue: program("evil") } });
  await x.activate();
  assert.strictEqual(x.clients[0].server.command, path.join(folder, "good"));
  assert.strictEqual(x.clients[0].server.options.cwd, os.homedir());

  const { find } = require("../command");
  program("here/handful");
  program("home/go/bin/handful");
  const before = process.cwd();
  process.chdir(path.join(folder, "here"));
  try {
    const home = path.join(folder, "home");
    assert.strictEqual(find("handful", { PATH: [".", "", "bin", path.join(folder, "none")].join(path.delimiter) }, path.join(folder, "nobody")), undefined);
    assert.strictEqual(find("./handful", { PATH: "" }, home), undefined);
    assert.strictEqual(find("sub/handful", { PATH: folder }, home), undefined);
    assert.strictEqual(find("handful", { PATH: "/none" }, home), path.join(home, "go", "bin", "handful"), "where Go puts it");
    assert.strictEqual(find("handful", { PATH: path.join(folder, "here") }, home), path.join(folder, "here", "handful"));
    assert.strictEqual(find("~/go/bin/handful", { PATH: "" }, home), path.join(home, "go", "bin", "handful"));
    assert.strictEqual(find(folder, { PATH: "" }, home), undefined, "a folder is no command");
  } finally {
    process.chdir(before);
  }
});

test("a text that the server has lost is sent whole", async () => {
  const x = load({ path: { globalValue: program("good") }, documents: [{ uri: "file:///a.handful", version: 7, getText: () => "tempo 96\n" }] });
  await x.activate();
  const capabilities = { experimental: { other: 1 } };
  for (const f of x.clients[0].features) f.fillClientCapabilities(capabilities);
  assert.deepStrictEqual(capabilities.experimental, { other: 1, handfulSendAgain: true, handfulTellsFindings: true });
  x.clients[0].notes["handful/sendAgain"]({ uri: "file:///a.handful" });
  x.clients[0].notes["handful/sendAgain"]({ uri: "file:///closed.handful" });
  assert.deepStrictEqual(x.sent, [["textDocument/didChange", { textDocument: { uri: "file:///a.handful", version: 7 }, contentChanges: [{ text: "tempo 96\n" }] }]]);
  await x.commands["handful.showSheet"]();
  assert.deepStrictEqual(x.said.map((s) => s.text), ["no [x] (command:y) here"], "no link comes of what is said");
});

const page = (player) => `<!DOCTYPE html><body><p>${player}</p></body>`;
// What a panel shows, without what lets it follow the caret.
const shown = (panel) => panel.webview.html.replace(/<script[\s\S]*<\/script>\n/, "");

// A piece in the editor, whose lines from 5 on are Bo's.
function desk(more = {}) {
  const uri = { path: "/a/show.handful", toString: () => "file:///a/show.handful" };
  const editor = { document: { languageId: "handful", uri, version: 1, lineCount: 9, text: "was", getText() { return this.text; } }, selection: { active: { line: 1, character: 0 } }, revealRange() {} };
  const answers = {
    "handful.standing": (_, line) => JSON.stringify({ player: Number(line) < 5 ? "Ida" : "Bo", short: "100 % played", long: "all of it" }),
    "handful.sheet": (_, player) => page(player + editor.document.version),
    ...more.answers,
  };
  const x = load({ path: { globalValue: program("good") }, editor, ...more, answers });
  return { x, editor };
}

test("the sheet follows the caret and what is written, and asks for no more than that", async () => {
  const { x, editor } = desk();
  await x.activate();
  await settled();
  assert.deepStrictEqual([x.item.shown, x.item.text, x.item.tooltip], [true, "100 % played", "all of it"]);
  assert.strictEqual(x.panels.length, 0, "nobody has asked for a sheet");
  await x.commands["handful.followSheet"]();
  await settled();
  assert.strictEqual(x.panels.length, 1);
  assert.strictEqual(shown(x.panels[0]), page("Ida1"));
  editor.selection.active.line = 7;
  x.on.caret({ textEditor: editor });
  await settled();
  assert.strictEqual(shown(x.panels[0]), page("Bo1"));
  editor.document.version = 2;
  x.on.text({ document: editor.document });
  await settled();
  assert.strictEqual(shown(x.panels[0]), page("Bo2"));
  const sheets = () => x.asked.filter(([c]) => c === "handful.sheet").length;
  const before = sheets();
  x.on.caret({ textEditor: editor });
  await settled();
  assert.strictEqual(sheets(), before, "the same player of the same text");
  for (let v = 3; v < 30; v++) {
    editor.document.version = v;
    x.on.text({ document: editor.document });
  }
  await settled();
  assert.strictEqual(shown(x.panels[0]), page("Bo29"), "the last one counts");
  assert.ok(sheets() - before <= 3, "what is typed meanwhile is taken together");
  x.panels[0].close();
  editor.document.version = 30;
  x.on.text({ document: editor.document });
  await settled();
  assert.ok(sheets() - before <= 3, "a panel that is closed follows nothing");
  x.vscode.window.activeTextEditor = undefined;
  await x.on.editor();
  await settled();
  assert.strictEqual(x.item.shown, false);
});

test("a sheet is laid out for the panel's width alone, or whole for whoever wants it as it is printed", async () => {
  const { x, editor } = desk({ answers: { "handful.sheet": (_, player, ...form) => page([player, editor.document.version, ...form].join(" ")) } });
  await x.activate();
  await x.commands["handful.followSheet"]();
  const [panel] = x.panels;
  assert.strictEqual(shown(panel), page("Ida 1 html 0"), "nobody knows how wide it will be");
  await panel.says({ width: 900 });
  assert.strictEqual(shown(panel), page("Ida 1 html 900"));
  const write = async (version) => {
    editor.document.version = version;
    x.on.text({ document: editor.document });
    await settled();
  };
  await write(2);
  assert.strictEqual(shown(panel), page("Ida 2 html 900"));
  await panel.says({ whole: true });
  assert.strictEqual(shown(panel), page("Ida 2 html"));
  await write(3);
  assert.strictEqual(shown(panel), page("Ida 3 html"));
  const asked = x.asked.length;
  await panel.says({ whole: false });
  assert.strictEqual(x.asked.length, asked, "the page that is there has all that is wanted");
  await write(4);
  assert.strictEqual(shown(panel), page("Ida 4 html 900"));
});

test("what has changed of a page is put in its place, and the page is made anew once that is over", async () => {
  const { calm, cut, changed } = require("../pages");
  // Two lines of notes, of which the version stands in the second; what is said besides, in more.
  let more = "";
  const sheet = (v) => `<!DOCTYPE html><title>a ${v}</title><header><h1>a</h1></header><main><section><h2>b</h2><svg class="line">one</svg><svg class="line">two ${v}</svg>${more}<details>${v}</details></section></main><script type="application/json" id="play">${v}</script></body>`;
  const { x, editor } = desk({ answers: { "handful.sheet": () => sheet(editor.document.version) } });
  await x.activate();
  const write = async (version) => {
    editor.document.version = version;
    x.on.text({ document: editor.document });
    await settled();
  };
  const units = () => x.posted.filter((m) => m.units).map((m) => m.units);
  await x.commands["handful.followSheet"]();
  const [panel] = x.panels;
  assert.strictEqual(shown(panel), sheet(1).replace(/<script.*<\/script>/, ""));
  const html = panel.webview.html;
  await write(2);
  assert.deepStrictEqual(units(), [], "the page is not there yet");
  await panel.says({ ready: true });
  assert.deepStrictEqual(units(), [[[3, '<svg class="line">two 2</svg>', 4]]], "what came meanwhile");
  await write(3);
  assert.deepStrictEqual(units()[1], [[3, '<svg class="line">two 3</svg>', 4]]);
  assert.strictEqual(panel.webview.html, html, "nothing is made anew while somebody writes");
  await panel.says({ ready: true }); // hidden, and shown again as it was made
  assert.deepStrictEqual(units()[2], [[3, '<svg class="line">two 3</svg>', 4]]);
  await panel.says({ stale: true });
  assert.match(panel.webview.html, /two 3/, "what cannot be put in its place is made anew");
  await panel.says({ ready: true });
  more = "<p>more</p>";
  await write(4);
  assert.match(panel.webview.html, /two 4.*<p>more/, "what is neither a picture nor a heading");
  await panel.says({ ready: true });
  await write(5);
  assert.doesNotMatch(panel.webview.html, /two 5/);
  await new Promise((done) => setTimeout(done, calm + 500));
  assert.match(panel.webview.html, /two 5/, "the page is whole again");
  assert.strictEqual(changed(cut("<svg>a</svg>"), cut("<svg>a</svg><svg>b</svg>")), undefined, "one more");
});

test("where nobody's lines are, the sheet stays that of the player whose it was", async () => {
  let player = "Bo";
  const { x, editor } = desk({ answers: { "handful.standing": () => JSON.stringify({ player, short: "", long: "" }) } });
  await x.activate();
  await x.commands["handful.followSheet"]();
  player = "";
  editor.document.version = 2;
  x.on.text({ document: editor.document });
  await settled();
  assert.strictEqual(shown(x.panels[0]), page("Bo2"));
});

test("what has no sheet leaves the one that is there", async () => {
  let broken = false;
  const { x, editor } = desk({ answers: { "handful.sheet": (_, player) => (broken ? undefined : page(player)) } });
  await x.activate();
  await x.commands["handful.followSheet"]();
  await settled();
  broken = true;
  editor.document.version = 2;
  x.on.text({ document: editor.document });
  await settled();
  assert.strictEqual(shown(x.panels[0]), page("Ida"));
  assert.strictEqual(x.said.length, 0);
});

test("the sheet goes to the bar of the caret and leads back to the text", async () => {
  let bar = 3;
  const { x, editor } = desk({
    answers: {
      "handful.standing": () => JSON.stringify({ player: "Ida", bar, short: "", long: "" }),
      "handful.lineOf": (_, player, n) => JSON.stringify({ start: { line: player === "Ida" ? 4 : 0, character: Number(n) }, end: { line: 4, character: 9 } }),
    },
  });
  await x.activate();
  await x.commands["handful.followSheet"]();
  await x.panels[0].says({ ready: true });
  assert.deepStrictEqual(x.posted, [{ bar: 3, listen: false }]);
  bar = 7;
  x.on.caret({ textEditor: editor });
  await settled();
  assert.deepStrictEqual(x.posted[1], { bar: 7, listen: false });
  x.on.caret({ textEditor: editor });
  await settled();
  assert.strictEqual(x.posted.length, 2, "it is there already");
  // The panel has the focus, and a bar of it is clicked.
  x.vscode.window.activeTextEditor = undefined;
  await x.panels[0].says({ bar: 5, player: "" });
  assert.deepStrictEqual([editor.selection.active.line, editor.selection.active.character], [4, 5]);
  bar = 5;
  x.on.caret({ textEditor: editor });
  await settled();
  assert.strictEqual(x.posted.length, 2, "what was clicked is not gone to");
  x.vscode.window.activeTextEditor = editor;
  await x.commands["handful.listen"]();
  assert.deepStrictEqual(x.posted[2], { bar: 5, listen: true });
  const html = x.panels[0].webview.html;
  assert.strictEqual(html.match(/<script nonce=/g).length, 1);
});

test("an editor that was there before has the indentation that is set for the language", async () => {
  for (const [is, detects, becomes] of [[4, false, 2], [4, true, 4], [2, false, 2]]) {
    const { x, editor } = desk();
    Object.assign(x.config, { tabSize: { defaultValue: 2 }, insertSpaces: { defaultValue: true }, detectIndentation: { defaultValue: detects } });
    editor.options = { tabSize: is };
    await x.activate();
    assert.strictEqual(editor.options.tabSize, becomes);
    editor.options = { tabSize: is };
    x.on.editor(editor);
    assert.strictEqual(editor.options.tabSize, becomes);
  }
});

test("a set-up follows the text, and what is moved in it is written", async () => {
  const plan = (player, version) => JSON.stringify({ version, player, players: ["Ida", "Bo"], things: [{ name: "drum", line: 3, written: true }] });
  let refuse = false;
  const { x, editor } = desk({
    answers: {
      "handful.setup": (_, line, who) => plan(Number(line) >= 5 ? "Bo" : (who ?? "Ida"), editor.document.version),
      "handful.put": () => (refuse ? undefined : ""),
    },
  });
  editor.document.lineAt = () => ({ firstNonWhitespaceCharacterIndex: 4 });
  await x.activate();
  await x.commands["handful.showSetup"]();
  const [panel] = x.panels;
  assert.match(panel.webview.html, /default-src 'none'; style-src 'nonce-([\w-]+)'; script-src 'nonce-\1'/);
  await panel.says({ ready: true });
  assert.deepStrictEqual([x.posted[0].plan.player, panel.title], ["Ida", "Set-up of Ida"]);
  x.vscode.window.activeTextEditor = undefined;
  await panel.says({ line: 3 });
  assert.deepStrictEqual([editor.selection.active.line, editor.selection.active.character], [3, 4]);
  await panel.says({ put: 0, player: "Ida", version: 1, right: -12, ahead: 40 });
  assert.deepStrictEqual(x.asked.find(([c]) => c === "handful.put"), ["handful.put", editor.document.uri, "1", "Ida", "0", "-12", "40"]);
  assert.deepStrictEqual([x.posted.at(-1).done, x.posted.at(-1).plan.player], [true, "Ida"]);
  refuse = true;
  await panel.says({ put: 0, player: "Ida", version: 1, right: 1, ahead: 1 });
  assert.deepStrictEqual(x.posted.at(-1), { said: "It stays where it was.", done: true });
  await panel.says({ who: "Bo" });
  assert.strictEqual(x.posted.at(-1).plan.player, "Bo");
  editor.document.version = 2;
  await x.on.text({ document: editor.document });
  await settled();
  assert.deepStrictEqual([x.posted.at(-1).plan.player, x.posted.at(-1).plan.version], ["Bo", 2], "it stays the one that was chosen");
  panel.close();
  const before = x.asked.length;
  x.vscode.window.activeTextEditor = editor;
  editor.document.version = 3;
  x.on.text({ document: editor.document });
  await settled();
  assert.ok(x.asked.slice(before).every(([c]) => c !== "handful.setup"));
});

test("parts are imported by the command, and what it says is told", async () => {
  for (const [script, text, said] of [
    ["echo title; echo '1 bar was left out' >&2", "title\n", /1 bar was left out/],
    ["echo 'no such format' >&2; exit 2", undefined, /no such format/],
  ]) {
    const file = program("importer");
    fs.writeFileSync(file, `#!/bin/sh\n[ "$1 $2" = "import /a b/song.mid" ] || exit 9\n${script}\n`);
    const x = load({ path: { globalValue: file }, picked: [{ fsPath: "/a b/song.mid" }] });
    await x.activate();
    const made = await x.commands["handful.importParts"]();
    assert.deepStrictEqual(made && [made.content, made.language], text && [text, "handful"]);
    assert.match(x.said.at(-1).text, said);
  }
  const x = load({ path: { globalValue: program("good") } });
  await x.activate();
  assert.strictEqual(await x.commands["handful.importParts"](), undefined);
  assert.strictEqual(x.said.length, 0, "who chooses nothing is told nothing");
});

test("a plan stands beside what is written and is taken when somebody says so", async () => {
  for (const ex of [{ take: true, late: false }, { take: false, late: false }, { take: true, late: true }]) {
    let at;
    const { x, editor } = desk({
      input: "2", answers: { "handful.plan": (_, n) => `a plan for ${n}` },
      choose: (ways) => {
        if (ex.late) at.document.version = 9;
        return ex.take ? ways[0] : undefined;
      },
    });
    at = editor;
    await x.activate();
    await x.commands["handful.showPlan"]();
    await settled();
    const [, was, plan] = x.ran.find(([c]) => c === "vscode.diff");
    assert.strictEqual(String(was), "file:///a/show.handful");
    assert.strictEqual(x.providers["handful-plan"].provideTextDocumentContent(plan), "a plan for 2");
    if (ex.take && !ex.late) {
      assert.strictEqual(x.edits.length, 1);
      assert.strictEqual(x.edits[0][2], "a plan for 2");
      await x.commands["handful.applyPlan"](plan); // the button of the diff
      assert.strictEqual(x.edits.length, 2);
    } else {
      assert.strictEqual(x.edits.length, 0);
    }
    if (ex.late) assert.match(x.said.at(-1).text, /written in since/);
    x.on.close({ uri: plan });
    assert.strictEqual(x.providers["handful-plan"].provideTextDocumentContent(plan), "", "it is forgotten with its document");
  }
  const { x } = desk({ input: "2", answers: { "handful.plan": () => "was" } });
  await x.activate();
  await x.commands["handful.showPlan"]();
  assert.match(x.said.at(-1).text, /nothing to change/);
});

test("all that the walkthrough and the menus name is there", async () => {
  const m = JSON.parse(fs.readFileSync(path.join(__dirname, "..", "package.json"), "utf8"));
  const x = load({ path: { globalValue: program("good") } });
  await x.activate();
  for (const { command } of m.contributes.commands) assert.ok(x.commands[command], command);
  const [walk] = m.contributes.walkthroughs;
  assert.strictEqual(walk.steps.length, 3);
  for (const step of walk.steps) {
    assert.ok(fs.existsSync(path.join(__dirname, "..", step.media.markdown)), step.media.markdown);
    for (const [, command] of step.description.matchAll(/command:(handful\.\w+)/g)) assert.ok(x.commands[command], command);
  }
  await x.commands["handful.openExample"]();
  assert.strictEqual(x.opened.language, "handful");
  const server = require("node:child_process").spawnSync("go", ["run", "./cmd/handful", "check", "-"], { cwd: path.join(__dirname, "..", "..", ".."), input: x.opened.content, encoding: "utf8" });
  assert.match(server.stdout, /error/, "the example has something to find");
  const rules = m.contributes.configurationDefaults["editor.semanticTokenColorCustomizations"].rules;
  const [right, left] = [rules["parameter.right:handful"], rules["parameter.left:handful"]];
  assert.notStrictEqual(right.foreground, left.foreground);
  assert.ok(right.bold && !right.underline && left.underline && !left.bold, "they differ without colour too");
});

test("the manifest keeps hands off", () => {
  const m = JSON.parse(fs.readFileSync(path.join(__dirname, "..", "package.json"), "utf8"));
  assert.strictEqual(m.contributes.configuration.properties["handful.path"].scope, "machine");
  assert.deepStrictEqual(m.capabilities.untrustedWorkspaces, { supported: true, restrictedConfigurations: ["handful.path"] });
  assert.strictEqual(m.contributes.configurationDefaults["[handful]"]["editor.acceptSuggestionOnEnter"], "off");
});
