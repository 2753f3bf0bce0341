// Whole pieces typed letter by letter, with Enter at the end of each line: what
// is in the file is what was typed, and whoever types is left in peace.
//   HANDFUL_FILES=1 node --test typing.test.js   three pieces at three speeds
const assert = require("node:assert");
const { spawnSync } = require("node:child_process");
const fs = require("node:fs");
const path = require("node:path");
const test = require("node:test");
const { sitDown } = require("./desk");

const whole = process.env.HANDFUL_FILES !== undefined;
const pieces = whole ? ["weir", "scene-change", "salt-market"] : ["scene-change"];
const speeds = whole ? [[60, 300], [35, 250], [22, 600]] : [[60, 300]]; // ms a letter, and before Enter

// The lines on which the command finds errors in a text.
function errors(text) {
  const told = spawnSync(process.env.HANDFUL, ["check", "--format", "json", "-"], { input: text, encoding: "utf8" });
  const found = JSON.parse(told.stdout).files.flatMap((f) => f.findings);
  return new Set(found.filter((f) => f.severity === "error").map((f) => f.line));
}

// Types a line into one that the editor has begun with an indent of its own.
async function line(desk, text, letter, look) {
  const { page } = desk;
  const wanted = text.length - text.trimStart().length;
  for (let at = (await desk.caret()).col - 1; at > wanted; at = (await desk.caret()).col - 1) {
    await page.keyboard.press("Backspace");
    await desk.until("Backspace does nothing", () => desk.caret(), (c) => c.col - 1 < at);
  }
  const begun = (await desk.caret()).col - 1;
  for (const ch of " ".repeat(Math.max(0, wanted - begun)) + text.trimStart()) {
    await page.keyboard.type(ch);
    await page.waitForTimeout(letter);
    await look();
  }
}

async function type(desk, text, [letter, end]) {
  const { page } = desk;
  const felt = { keys: 0, onLine: 0, elsewhere: 0, seen: {} };
  const lines = text.split("\n");
  for (let n = 0; n < lines.length; n++) {
    if (n > 0) {
      await page.waitForTimeout(end);
      await page.keyboard.press("Enter");
      await desk.until("Enter does nothing", () => desk.caret(), (c) => c.line === n + 1);
    }
    const may = new Set([...errors(lines.slice(0, n).join("\n")), ...errors(lines.slice(0, n + 1).join("\n"))]);
    await line(desk, lines[n], letter, async () => {
      felt.keys++;
      const shown = await desk.squiggles("error");
      if (shown.includes(n + 1)) felt.onLine++;
      if (shown.some((l) => l !== n + 1 && !may.has(l))) felt.elsewhere++;
      for (const l of shown) if (l === n + 1 || !may.has(l)) felt.seen[l] = (felt.seen[l] ?? 0) + 1;
    });
  }
  return felt;
}

async function sits(t, piece, speed) {
  const text = fs.readFileSync(path.join(__dirname, "..", "..", "examples", piece + ".handful"), "utf8").trimEnd() + "\n";
  const name = `${piece}-${speed.join("-")}.handful`;
  const desk = await sitDown({ files: { [name]: "" }, tall: 20 * text.split("\n").length + 500 });
  try {
    await desk.open(name);
    await desk.page.locator('.statusbar [id$="handful.standing"]').waitFor();
    await desk.page.locator("#status\\.editor\\.indentation").getByText("Spaces: 2").waitFor(); // the extension's own
    await desk.watch();
    const felt = await type(desk, text, speed);
    const flashes = await desk.page.evaluate(() => window.flashes);
    await desk.picture(`typed-${name}`);
    const lines = text.split("\n"), there = (await desk.save(name)).split("\n");
    const damaged = lines.filter((l, n) => l !== there[n]).length;
    t.diagnostic(`${piece}, ${speed[0]} ms a letter, ${speed[1]} ms before Enter: ${felt.keys} keys, ${damaged} lines damaged, errors on the line at ${felt.onLine}, elsewhere at ${felt.elsewhere}, ${flashes.length} flashes`);
    assert.deepStrictEqual(there, lines);
    assert.ok(felt.keys > 300);
    assert.ok(felt.onLine * 100 <= 5 * felt.keys, `errors on the line that is typed: ${JSON.stringify(felt.seen)}`);
    assert.ok(felt.elsewhere * 100 <= 10 * felt.keys, `errors on other lines that a pause would not show: ${JSON.stringify(felt.seen)}`);
    assert.deepStrictEqual((await desk.notices()).filter((n) => n.includes("failed")), [], "the editor complains of an answer");
    assert.ok(flashes.length <= 20, `shown for less than a second: ${flashes}`);
    // What is found is not lost, and this sees it: it is there when the pen rests.
    const more = "player Nobody\n  R wodblock as written\n";
    await desk.page.keyboard.type("player Nobody\nR wodblock as written", { delay: speed[0] });
    const flat = (t) => t.trimEnd().split("\n").map((l) => l.trimStart());
    assert.deepStrictEqual(flat(await desk.save(name)), flat(text + more));
    const wrong = [...errors(text + more)].sort();
    assert.ok(wrong.includes(lines.length + 1));
    await desk.until("errors are missing or too many", () => desk.squiggles("error"), (s) => String(s.sort()) === String(wrong));
  } finally {
    await desk.leave();
  }
}

for (const speed of speeds) {
  for (const piece of pieces) {
    test(`${piece} typed at ${speed.join(" and ")} ms stands there, and whoever types is left in peace`, (t) => sits(t, piece, speed));
  }
}
