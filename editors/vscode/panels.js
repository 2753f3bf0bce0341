// The panels beside the text: sheets, and the set-up from above. They follow the
// caret and what is written, and lead back to the text.
const crypto = require("node:crypto");
const pages = require("./pages");

// vscode is the editor; ask asks the server about a document and has undefined
// for no answer; tell asks and says what is wrong.
exports.panels = function ({ vscode, ask, tell }) {
  const nonce = () => crypto.randomBytes(16).toString("base64url");
  const handful = (editor) => editor?.document.languageId === "handful";
  let sheets; // {panel, uri, version, player, bar, pinned, listen, width, whole, page, made, there, loading, calm}
  let setup; // {panel, uri, version, player, wanted, plan}
  let last; // the editor whose text the panels are about

  // The editor that is written in: while a panel has the focus, the one that it is
  // about; undefined where nothing is to be followed.
  function current() {
    const active = vscode.window.activeTextEditor;
    if (active) {
      if (!handful(active)) return undefined;
      return (last = active);
    }
    const there = (sheets || setup) && last && vscode.window.visibleTextEditors.find((e) => String(e.document.uri) === String(last.document.uri));
    return there || undefined;
  }

  function open(id, title) {
    return vscode.window.createWebviewPanel(id, title, { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true }, { enableScripts: true, enableFindWidget: true, localResourceRoots: [] });
  }

  // ---- sheets ----

  function showPage(page) {
    if (!sheets) {
      sheets = { panel: open("handful.sheets", "Sheets") };
      sheets.panel.onDidDispose(() => {
        clearTimeout(sheets.calm);
        sheets = undefined;
      });
      sheets.panel.webview.onDidReceiveMessage((m) => (m.ready ? shown() : m.stale ? renew() : m.bar !== undefined ? toText(m) : another(m)));
    }
    if (sheets.page === page) return;
    sheets.page = page;
    if (!sheets.there || !put()) renew();
  }

  // The page is there as it was made; what came meanwhile is put in its place.
  function shown() {
    if (!sheets) return;
    sheets.loading = false;
    sheets.there = sheets.made;
    if (sheets.there.page !== sheets.page && !put()) return renew();
    atBar();
  }

  // Puts what has changed of a page in its place, where that can be done, or as soon as the
  // page is there; the page itself is made anew once nothing has changed for a while.
  function put() {
    const now = { page: sheets.page, ...pages.cut(sheets.page) };
    const units = pages.changed(sheets.there, now);
    if (!units) return false;
    clearTimeout(sheets.calm);
    if (sheets.loading) return true;
    sheets.there = now;
    sheets.panel.webview.postMessage({ units });
    atBar();
    sheets.calm = setTimeout(renew, pages.calm);
    return true;
  }

  function renew() {
    if (!sheets) return;
    clearTimeout(sheets.calm);
    sheets.loading = true;
    sheets.made = sheets.there = { page: sheets.page, ...pages.cut(sheets.page) };
    sheets.panel.webview.html = pages.followed(sheets.page, nonce());
  }

  // How a page is asked for: laid out for the panel's width alone, which is known when
  // it has shown one, or whole for whoever wants it as it is printed.
  const form = () => (sheets?.whole ? ["html"] : ["html", String(sheets?.width ?? 0)]);

  // The panel is no longer as wide as the page is laid out for, or another form of it is wanted.
  async function another({ width, whole }) {
    if (!sheets) return;
    if (width !== undefined) sheets.width = width;
    if (whole !== undefined) sheets.whole = whole;
    const editor = current();
    if (whole === false || !editor || String(editor.document.uri) !== sheets.uri) return;
    const { version } = editor.document, { player } = sheets;
    const page = await ask(editor, "handful.sheet", player, ...form());
    if (!page || sheets?.player !== player) return;
    sheets.version = version;
    showPage(page);
  }

  function atBar() {
    if (!sheets?.bar) return;
    sheets.panel.webview.postMessage({ bar: sheets.bar, listen: sheets.listen === true });
    sheets.listen = false;
  }

  // A bar was clicked: the caret goes to where it stands.
  async function toText({ bar, player }) {
    const editor = current();
    if (!sheets || !editor || String(editor.document.uri) !== sheets.uri) return;
    const answer = await ask(editor, "handful.lineOf", player || sheets.player || "", String(bar));
    if (!answer || !sheets) return;
    sheets.bar = bar;
    select(editor, JSON.parse(answer));
  }

  function select(editor, { start, end }) {
    const from = new vscode.Position(start.line, start.character), to = new vscode.Position(end.line, end.character);
    editor.selection = new vscode.Selection(from, from);
    editor.revealRange(new vscode.Range(from, to), vscode.TextEditorRevealType.InCenterIfOutsideViewport);
  }

  async function followSheets(editor, version, at) {
    if (!sheets?.uri) return;
    const uri = String(editor.document.uri), here = uri === sheets.uri;
    // Where nobody's lines are, the sheet stays that of the player whose it was.
    const player = sheets.pinned ? sheets.player : at.player || (here ? sheets.player : "");
    if (sheets.pinned && !here) return;
    if (uri !== sheets.uri || version !== sheets.version || player !== sheets.player) {
      const page = await ask(editor, "handful.sheet", player, ...form());
      if (!page || !sheets) return;
      Object.assign(sheets, { uri, version, player });
      if (at.bar) sheets.bar = at.bar;
      showPage(page);
      if (!sheets.listen) return; // when the page is there, it asks where it is
    }
    if (at.bar && at.bar !== sheets.bar) {
      sheets.bar = at.bar;
      atBar();
    }
  }

  // Shows a page of sheets that stay those of one player, or everybody's, and
  // change with the text.
  function pin(page, player) {
    const editor = current();
    showPage(page);
    Object.assign(sheets, { uri: editor && String(editor.document.uri), version: editor?.document.version, player, pinned: true });
    sheets.panel.reveal(undefined, true);
  }

  // Shows the sheet of the player at the caret, and goes on doing so; listen has it
  // played from there.
  async function follow(listen) {
    const editor = current();
    if (!editor) return tell(editor, "handful.sheet", "", "html");
    const at = JSON.parse((await ask(editor, "handful.standing", ...caret(editor))) ?? "{}");
    const page = await tell(editor, "handful.sheet", at.player ?? "", ...form());
    if (!page) return;
    const there = sheets?.page === page;
    showPage(page);
    Object.assign(sheets, { uri: String(editor.document.uri), version: editor.document.version, player: at.player ?? "", bar: at.bar || 1, pinned: false, listen });
    sheets.panel.reveal(undefined, true);
    if (there) atBar();
  }

  const caret = (editor) => [String(editor.selection.active.line), String(editor.selection.active.character ?? 0)];

  // ---- the set-up ----

  async function showSetup() {
    const editor = current();
    const answer = await tell(editor, "handful.setup", caret(editor ?? { selection: { active: { line: 0 } } })[0]);
    if (!answer) return;
    if (!setup) {
      setup = { panel: open("handful.setup", "Set-up") };
      setup.panel.onDidDispose(() => (setup = undefined));
      setup.panel.webview.onDidReceiveMessage(fromSetup);
      take(editor, answer);
      setup.panel.webview.html = pages.setupPage(nonce());
    } else {
      take(editor, answer);
      send();
    }
    setup.panel.reveal(undefined, true);
  }

  function take(editor, answer) {
    setup.plan = JSON.parse(answer);
    Object.assign(setup, { uri: String(editor.document.uri), version: editor.document.version, player: setup.plan.player, line: editor.selection.active.line });
    for (const t of setup.plan.things) t.here = t.line === setup.line && t.written;
    setup.panel.title = `Set-up of ${setup.player}`;
  }

  function send(done) {
    setup.panel.webview.postMessage({ plan: setup.plan, done });
  }

  async function fromSetup(m) {
    if (m.ready) return send();
    const editor = current();
    if (!editor || String(editor.document.uri) !== setup?.uri) return;
    if (m.line !== undefined) {
      if (m.line >= 0) {
        const from = editor.document.lineAt(m.line).firstNonWhitespaceCharacterIndex;
        select(editor, { start: { line: m.line, character: from }, end: { line: m.line, character: from } });
      }
    } else if (m.who !== undefined) {
      const answer = await ask(editor, "handful.setup", "-1", m.who);
      if (!answer || !setup) return;
      take(editor, answer);
      send();
    } else if (m.put !== undefined) {
      const done = await tell(editor, "handful.put", String(m.version), m.player, String(m.put), String(m.right), String(m.ahead));
      const answer = await ask(editor, "handful.setup", "-1", m.player);
      if (!setup) return;
      if (answer) take(editor, answer);
      if (done === undefined) setup.panel.webview.postMessage({ said: "It stays where it was.", done: true });
      else send(true);
    }
  }

  async function followSetup(editor, version, at) {
    if (!setup) return;
    const line = editor.selection.active.line, uri = String(editor.document.uri);
    if (uri === setup.uri && version === setup.version && line === setup.line) return;
    const other = at.player && at.player !== setup.player && line !== setup.line;
    const answer = await ask(editor, "handful.setup", other ? String(line) : "-1", setup.player);
    if (!answer || !setup) return;
    take(editor, answer);
    send();
  }

  return {
    current, caret, pin, follow, showSetup,
    // What stands at the caret has changed, or the text.
    async look(editor, version, at) {
      await followSheets(editor, version, at);
      await followSetup(editor, version, at);
    },
  };
};
