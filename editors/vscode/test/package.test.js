// The package that the usual tool makes holds what it must, and nothing that
// is only for building.
const assert = require("node:assert");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { execFileSync } = require("node:child_process");
const test = require("node:test");

test("the licences of what is bundled are there, and of today", () => {
  const want = require("../licenses").text();
  assert.match(want, /vscode-languageclient/);
  assert.strictEqual(fs.readFileSync(path.join(__dirname, "..", "THIRD_PARTY_LICENSES"), "utf8"), want, "make it anew: npm run --silent licenses >THIRD_PARTY_LICENSES");
});

test("the extension packs, twice to the same bytes", async () => {
  const here = path.join(__dirname, "..");
  const out = path.join(fs.mkdtempSync(path.join(os.tmpdir(), "handful-")), "handful.vsix");
  const pack = (to) => execFileSync("node", ["pack.js", to], { cwd: here, encoding: "utf8", stdio: ["ignore", "pipe", "pipe"], env: { ...process.env, TZ: to === out ? "UTC" : "Asia/Tokyo" } });
  const log = pack(out);
  const again = `${out}.again`;
  fs.utimesSync(path.join(here, "README.md"), new Date(), new Date());
  pack(again);
  assert.ok(fs.readFileSync(out).equals(fs.readFileSync(again)), "the same files make the same bytes");
  const list = execFileSync("python3", ["-m", "zipfile", "-l", out], { encoding: "utf8" });
  for (const file of ["extension/package.json", "extension/dist/extension.js", "extension/syntaxes/handful.tmLanguage.json", "extension/snippets/handful.json", "extension/language-configuration.json", "extension/LICENSE", "extension/THIRD_PARTY_LICENSES", "extension/CHANGELOG.md", "extension/icon.png", "extension/walkthrough/sheet.md", "extension/walkthrough/vscode-hover.png", "extension/walkthrough/vscode-setup.png"]) {
    assert.match(list.toLowerCase(), new RegExp(file.toLowerCase().replaceAll(".", "\\.")), `${file} is not in the package:\n${log}`);
  }
  assert.doesNotMatch(list, /node_modules|test\//);
});
