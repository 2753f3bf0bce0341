// The grammar against the examples, and against what the language server says
// of every word.
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const { spawn, execFileSync } = require("node:child_process");
const test = require("node:test");
const oniguruma = require("vscode-oniguruma");
const textmate = require("vscode-textmate");

const root = path.join(__dirname, "..", "..", "..");
const examples = fs.readdirSync(path.join(root, "examples")).filter((f) => f.endsWith(".handful"));

async function grammar() {
  const wasm = fs.readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm"));
  await oniguruma.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength));
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (p) => new oniguruma.OnigScanner(p),
      createOnigString: (s) => new oniguruma.OnigString(s),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(
      fs.readFileSync(path.join(__dirname, "..", "syntaxes", "handful.tmLanguage.json"), "utf8"), "handful.json"),
  });
  return registry.loadGrammar("source.handful");
}

const loaded = grammar();

// For each line the tokens: start, end, innermost scope.
async function tokens(text) {
  const g = await loaded;
  let state = textmate.INITIAL;
  return text.split("\n").map((line) => {
    const r = g.tokenizeLine(line, state);
    state = r.ruleStack;
    return r.tokens.map((t) => ({ start: t.startIndex, end: t.endIndex, scope: t.scopes[t.scopes.length - 1] }));
  });
}

const scopeAt = (line, at) => line.find((t) => t.start <= at && at < t.end)?.scope;

for (const name of examples) {
  test(`every word of ${name} has a scope`, async () => {
    const text = fs.readFileSync(path.join(root, "examples", name), "utf8");
    const lines = text.split("\n");
    (await tokens(text)).forEach((line, n) => {
      for (const t of line) {
        const part = lines[n].slice(t.start, t.end);
        assert.ok(part.trim() === "" || t.scope !== "source.handful", `line ${n + 1}: ${JSON.stringify(part)} has no scope: ${lines[n]}`);
        assert.ok(!t.scope.startsWith("invalid"), `line ${n + 1}: ${JSON.stringify(part)} is called invalid`);
      }
    });
  });
}

test("lines have the scopes that they should", async () => {
  const at = async (line, word, scope) => {
    const [got] = await tokens(line);
    assert.strictEqual(scopeAt(got, line.indexOf(word)), scope, `${word} in ${line}`);
  };
  await at('part "Percussion 2"', '"Percussion', "entity.name.section.part.handful");
  await at("player Nell", "Nell", "entity.name.type.player.handful");
  await at("  R triangle clipped with triangle-beater as written", "R", "variable.parameter.limb.right.handful");
  await at("  LF hi-hat as written", "LF", "variable.parameter.limb.left.handful");
  await at("  R+L snare-drum | 1 2", "R+L", "variable.parameter.limb.handful");
  await at("  R holds 2 yarn-mallets", "yarn-mallets", "support.type.implement.handful");
  await at("  L knee damps triangle", "triangle", "variable.other.instrument.handful");
  await at("  R triangle clipped with triangle-beater as written", "clipped", "support.constant.mount.handful");
  await at("  R triangle clipped with triangle-beater as written", "triangle-beater", "support.type.implement.handful");
  await at("  woodblock | mf 1 2& | % x7 | -8", "mf", "constant.language.dynamic.handful");
  await at("  woodblock | mf 1 2& | % x7 | -8", "2&", "constant.numeric.stroke.handful");
  await at("  woodblock | mf 1 2& | % x7 | -8", "% x7", "keyword.operator.simile.handful");
  await at("  woodblock | mf 1 2& | % x7 | -8", "-8", "keyword.operator.rest.handful");
  await at("accept short-change at 9 # why", "# why", "comment.line.number-sign.handful");
  await at("mark A at 9", "A", "entity.name.label.handful");
});

// Which scopes a word may have that the server calls a kind of token.
const allowed = {
  keyword: [/^keyword/, /^entity\.name\.label/], // family words and the like are names to the grammar
  parameter: [/^variable\.parameter/],
  namespace: [/part/, /^string/],
  class: [/player/],
  variable: [/instrument/],
  type: [/implement/, /instrument/],
  property: [/mount/],
  enumMember: [/dynamic/, /note/],
  number: [/^constant\.numeric/, /^keyword\.operator/, /^entity\.name\.label/],
  operator: [/^keyword\.operator/, /^constant\.numeric/],
  string: [/^string/, /^constant\.character/],
  comment: [/^comment/],
  label: [/^entity\.name\.label/, /^constant\.numeric/],
  function: [/^entity\.name\.function/],
};

// A plain client: sends requests to the server and gives its answers.
function connect(command) {
  const server = spawn(command, ["lsp"], { stdio: ["pipe", "pipe", "inherit"] });
  const waiting = new Map();
  let data = Buffer.alloc(0);
  server.stdout.on("data", (chunk) => {
    data = Buffer.concat([data, chunk]);
    for (;;) {
      const head = data.indexOf("\r\n\r\n");
      if (head < 0) return;
      const size = Number(/Content-Length: (\d+)/.exec(data.toString("latin1", 0, head))[1]);
      if (data.length < head + 4 + size) return;
      const m = JSON.parse(data.toString("utf8", head + 4, head + 4 + size));
      data = data.subarray(head + 4 + size);
      waiting.get(m.id)?.(m);
    }
  });
  let last = 0;
  const send = (m) => {
    const body = Buffer.from(JSON.stringify({ jsonrpc: "2.0", ...m }));
    server.stdin.write(`Content-Length: ${body.length}\r\n\r\n`);
    server.stdin.write(body);
  };
  return {
    notify: (method, params) => send({ method, params }),
    ask: (method, params) => new Promise((done, fail) => {
      const id = ++last;
      waiting.set(id, (m) => (m.error ? fail(new Error(m.error.message)) : done(m.result)));
      send({ id, method, params });
    }),
    end: () => server.stdin.end(),
  };
}

test("the grammar and the language server agree on every word of the examples", async (t) => {
  const command = path.join(fs.mkdtempSync(path.join(require("node:os").tmpdir(), "handful-")), "handful");
  execFileSync("go", ["build", "-o", command, "./cmd/handful"], { cwd: root });
  const server = connect(command);
  t.after(() => server.end()); // else a failing test waits for the server for ever
  const hello = await server.ask("initialize", { processId: null, rootUri: null, capabilities: {} });
  const kinds = hello.capabilities.semanticTokensProvider.legend.tokenTypes;
  let compared = 0;
  for (const name of examples) {
    const text = fs.readFileSync(path.join(root, "examples", name), "utf8");
    const uri = `untitled:${name}`;
    server.notify("textDocument/didOpen", { textDocument: { uri, languageId: "handful", version: 1, text } });
    const { data } = await server.ask("textDocument/semanticTokens/full", { textDocument: { uri } });
    const lines = await tokens(text);
    let line = 0;
    let start = 0;
    for (let i = 0; i < data.length; i += 5) {
      line += data[i];
      start = data[i] ? data[i + 1] : start + data[i + 1];
      const kind = kinds[data[i + 3]];
      const scope = scopeAt(lines[line], start);
      const word = text.split("\n")[line].slice(start, start + data[i + 2]);
      assert.ok(allowed[kind].some((re) => re.test(scope)), `${name}:${line + 1}: the server calls ${JSON.stringify(word)} ${kind}, the grammar ${scope}`);
      compared++;
    }
  }
  assert.ok(compared > 500, `only ${compared} words were compared`);
});
