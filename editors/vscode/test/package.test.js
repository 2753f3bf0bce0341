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

test("the extension packs", () => {
  const here = path.join(__dirname, "..");
  const out = path.join(fs.mkdtempSync(path.join(os.tmpdir(), "handful-")), "handful.vsix");
  const log = execFileSync("npx", ["vsce", "package", "--allow-missing-repository", "--out", out], { cwd: here, encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  const list = execFileSync("python3", ["-m", "zipfile", "-l", out], { encoding: "utf8" });
  for (const file of ["extension/package.json", "extension/dist/extension.js", "extension/syntaxes/handful.tmLanguage.json", "extension/snippets/handful.json", "extension/language-configuration.json", "extension/LICENSE", "extension/THIRD_PARTY_LICENSES", "extension/CHANGELOG.md", "extension/icon.png", "extension/walkthrough/sheet.md"]) {
    assert.match(list.toLowerCase(), new RegExp(file.toLowerCase().replaceAll(".", "\\.")), `${file} is not in the package:\n${log}`);
  }
  assert.doesNotMatch(list, /node_modules|test\//);
});
