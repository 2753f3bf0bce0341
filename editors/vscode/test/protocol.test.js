// The protocol as a client has it that is not ours: the library that VS Code's
// own client stands on talks to the real server.
const assert = require("node:assert");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { spawn, execFileSync } = require("node:child_process");
const test = require("node:test");
const lsp = require("vscode-languageserver-protocol/node");

const root = path.join(__dirname, "..", "..", "..");
const command = path.join(fs.mkdtempSync(path.join(os.tmpdir(), "handful-")), "handful");
execFileSync("go", ["build", "-o", command, "./cmd/handful"], { cwd: root });

async function connect(capabilities) {
  const child = spawn(command, ["lsp"], { stdio: ["pipe", "pipe", "inherit"] });
  const c = lsp.createProtocolConnection(new lsp.StreamMessageReader(child.stdout), new lsp.StreamMessageWriter(child.stdin));
  const seen = { progress: [], created: [], refreshed: 0, waiting: [], shown: [] };
  c.onNotification(lsp.PublishDiagnosticsNotification.type, (p) => { seen.shown.push(p); seen.waiting.splice(0).forEach((f) => f()); });
  c.onRequest(lsp.WorkDoneProgressCreateRequest.type, (p) => { seen.created.push(p.token); c.onProgress(lsp.WorkDoneProgress.type, p.token, (v) => seen.progress.push(v)); });
  c.onRequest(lsp.DiagnosticRefreshRequest.type, () => { seen.refreshed++; seen.waiting.splice(0).forEach((f) => f()); });
  c.onRequest(lsp.ApplyWorkspaceEditRequest.type, () => ({ applied: true }));
  c.listen();
  const answer = await c.sendRequest(lsp.InitializeRequest.type, { processId: process.pid, rootUri: null, capabilities, workspaceFolders: null });
  await c.sendNotification(lsp.InitializedNotification.type, {});
  // until waits for something that the server does by itself.
  const until = async (found) => {
    for (;;) {
      const got = found();
      if (got) return got;
      await new Promise((f) => seen.waiting.push(f));
    }
  };
  const close = async () => {
    await c.sendRequest(lsp.ShutdownRequest.type);
    const gone = new Promise((f) => child.on("exit", f));
    await c.sendNotification(lsp.ExitNotification.type);
    assert.strictEqual(await gone, 0);
    c.dispose();
  };
  const open = (uri, text) => c.sendNotification(lsp.DidOpenTextDocumentNotification.type, { textDocument: { uri, languageId: "handful", version: 7, text } });
  return { c, seen, answer, until, close, open };
}

const uri = "untitled:page.handful";
const pushed = { relatedInformation: true, codeDescriptionSupport: true, versionSupport: true, tagSupport: { valueSet: [1, 2] } };

// How long a text is in each encoding.
const units = { "utf-8": (t) => Buffer.byteLength(t), "utf-16": (t) => t.length, "utf-32": (t) => [...t].length };

for (const encoding of Object.keys(units)) {
  test(`columns are counted in ${encoding}`, async () => {
    const s = await connect({ general: { positionEncodings: [encoding] }, textDocument: { publishDiagnostics: pushed } });
    assert.strictEqual(s.answer.capabilities.positionEncoding, encoding);
    const line = '  R snare-drum | "𝄞 ë" 1 2 foo 4';
    await s.open(uri, `tempo 96\nplayer Ida\n${line}\n`);
    const shown = await s.until(() => s.seen.shown.find((p) => p.uri === uri));
    assert.strictEqual(shown.version, 7);
    const found = shown.diagnostics.find((d) => d.code === "syntax");
    const start = units[encoding](line.slice(0, line.indexOf("foo")));
    assert.deepStrictEqual(found.range, { start: { line: 2, character: start }, end: { line: 2, character: start + 3 } });
    assert.match(found.codeDescription.href, /syntax/);
    assert.strictEqual(found.source, "handful");
    await s.close();
  });
}

test("what nobody needs is tagged, and a finding names the other place", async () => {
  const s = await connect({ textDocument: { publishDiagnostics: pushed } });
  await s.open(uri, 'tempo 100\npart "P"\n  woodblock | 1 2 3 4 | -\n  triangle | - | 1\nplayer Wren\n  R woodblock clamped with rubber-mallet as written\n  R triangle clipped with triangle-beater | - | 1\nplayer Ida\n');
  const { diagnostics } = await s.until(() => s.seen.shown.find((p) => p.uri === uri));
  assert.deepStrictEqual(diagnostics.find((d) => d.code === "unused").tags, [lsp.DiagnosticTag.Unnecessary]);
  assert.ok(diagnostics.some((d) => d.relatedInformation?.some((r) => r.location.uri === uri)), JSON.stringify(diagnostics));
  await s.close();
});

test("an offer is told of when it is looked at", async () => {
  const s = await connect({ textDocument: { completion: { completionItem: { resolveSupport: { properties: ["documentation"] } } } } });
  await s.open(uri, "tempo 96\nplayer Ida\n  R trian\n");
  const list = await s.c.sendRequest(lsp.CompletionRequest.type, { textDocument: { uri }, position: { line: 2, character: 9 } });
  const item = list.items.find((i) => i.label === "triangle");
  assert.ok(!item.documentation);
  const whole = await s.c.sendRequest(lsp.CompletionResolveRequest.type, item);
  assert.match(JSON.stringify(whole.documentation), /triangle/);
  await s.close();
});

test("who asks is told what is new, and asked to ask again when what waited is there", async () => {
  const s = await connect({ textDocument: { diagnostic: {} }, workspace: { diagnostics: { refreshSupport: true } } });
  const pull = (previousResultId) => s.c.sendRequest(lsp.DocumentDiagnosticRequest.type, { textDocument: { uri }, previousResultId });
  await s.open(uri, "tempo 96\n");
  const first = await pull();
  assert.deepStrictEqual([first.kind, first.items], ["full", []]);
  assert.deepStrictEqual(await pull(first.resultId), { kind: "unchanged", resultId: first.resultId });
  await s.c.sendNotification(lsp.DidChangeTextDocumentNotification.type, { textDocument: { uri, version: 8 }, contentChanges: [{ range: { start: { line: 1, character: 0 }, end: { line: 1, character: 0 } }, text: "mar" }] });
  const held = await pull(first.resultId);
  await s.until(() => s.seen.refreshed > 0 || held.items?.length > 0);
  const all = await pull(held.resultId);
  assert.strictEqual(all.items?.[0].code ?? "unchanged", held.items?.length ? "unchanged" : "syntax");
  assert.strictEqual(s.seen.shown.length, 0, "who asks is not told unasked");
  await s.close();
});

test("a plan tells how far it is, and is given up when nobody wants it any more", async () => {
  const s = await connect({ window: { workDoneProgress: true } });
  await s.open(uri, fs.readFileSync(path.join(root, "examples", "ferry-landing.handful"), "utf8"));
  const plan = (token, more) => s.c.sendRequest(lsp.ExecuteCommandRequest.type, { command: "handful.plan", arguments: [uri, "2"], ...more }, token);
  const cancel = new lsp.CancellationTokenSource();
  const given = plan(cancel.token).then(() => assert.fail("it was not given up"), (e) => e.code);
  cancel.cancel();
  assert.strictEqual(await given, lsp.LSPErrorCodes.RequestCancelled);
  assert.match(await plan(), /^player /m);
  assert.ok(s.seen.created.length > 0);
  const kinds = s.seen.progress.map((p) => p.kind);
  assert.ok(kinds.includes("begin") && kinds.includes("end"), kinds.join());
  const [made, own] = [s.seen.created.length, []];
  s.c.onProgress(lsp.WorkDoneProgress.type, "mine", (v) => own.push(v.kind));
  await plan(undefined, { workDoneToken: "mine" });
  assert.deepStrictEqual([own[0], own.at(-1), s.seen.created.length], ["begin", "end", made], "the client's own token is taken");
  await s.close();
});

test("the edit that makes every fix is made when its action is chosen", async () => {
  const s = await connect({ textDocument: { codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: [] } }, dataSupport: true, resolveSupport: { properties: ["edit"] } } } });
  const uri = "untitled:fix.handful";
  await s.c.sendNotification(lsp.DidOpenTextDocumentNotification.type, { textDocument: { uri, languageId: "handful", version: 1, text: "tempo 60\nplayer Ida\n  R woodblok | 1 2\n" } });
  const ask = { textDocument: { uri }, range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, context: { diagnostics: [], only: ["source.fixAll"] } };
  const [action] = await s.c.sendRequest(lsp.CodeActionRequest.type, ask);
  assert.strictEqual(action.edit, undefined);
  const made = await s.c.sendRequest(lsp.CodeActionResolveRequest.type, action);
  assert.match(JSON.stringify(made.edit), /R woodblock \| 1 2/);
  await s.c.sendNotification(lsp.DidChangeTextDocumentNotification.type, { textDocument: { uri, version: 2 }, contentChanges: [{ text: "tempo 61\nplayer Ida\n  R woodblok | 1 2\n" }] });
  await assert.rejects(s.c.sendRequest(lsp.CodeActionResolveRequest.type, action), (e) => e.code === lsp.LSPErrorCodes.ContentModified);
  await s.close();
});
