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

// Reads files out of a package.
const inside = (vsix, name) => execFileSync("python3", ["-c", "import sys, zipfile; sys.stdout.buffer.write(zipfile.ZipFile(sys.argv[1]).read(sys.argv[2]))", vsix, name]);

test("the pictures of the README are in the package, or at the address that is given", async () => {
  const here = path.join(__dirname, "..");
  const dir = fs.mkdtempSync(path.join(os.tmpdir(), "handful-"));
  const pictures = (...at) => {
    const out = path.join(dir, `${at.length}.vsix`);
    execFileSync("node", ["pack.js", out, ...at], { cwd: here, stdio: "pipe" });
    const readme = inside(out, "extension/readme.md").toString();
    return [...readme.matchAll(/!\[([^\]]+)\]\(([^)]+)\)/g)].map(([, says, link]) => ({ out, says, link }));
  };
  const own = pictures();
  assert.ok(own.length >= 2);
  for (const { out, says, link } of own) {
    assert.ok(says.length > 20, "what it shows is said too");
    assert.strictEqual(inside(out, `extension/${link}`).subarray(1, 4).toString(), "PNG", "marketplaces take no SVG");
  }
  const elsewhere = pictures("https://example.org/raw/editors/vscode");
  assert.deepStrictEqual(elsewhere.map((p) => p.link), own.map((p) => `https://example.org/raw/editors/vscode/${p.link}`));
});

test("what a marketplace asks of a manifest is there", () => {
  const m = require("../package.json");
  for (const field of ["name", "displayName", "description", "publisher", "version", "license", "icon", "repository", "categories", "keywords", "engines"]) assert.ok(m[field], field);
  assert.ok(m.keywords.length <= 30, "more keywords are refused");
  const known = ["Programming Languages", "Snippets", "Linters", "Themes", "Debuggers", "Formatters", "Keymaps", "SCM Providers", "Other", "Extension Packs", "Language Packs", "Data Science", "Machine Learning", "Visualization", "Notebooks", "Education", "Testing"];
  for (const c of m.categories) assert.ok(known.includes(c), c);
  const icon = fs.readFileSync(path.join(__dirname, "..", m.icon));
  assert.ok(icon.readUInt32BE(16) >= 128 && icon.readUInt32BE(20) >= 128, "an icon is 128 pixels wide at least");
});
