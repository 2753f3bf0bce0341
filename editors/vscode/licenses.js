// Prints the licences of what the extension is bundled with:
//   npm run --silent licenses >THIRD_PARTY_LICENSES
const fs = require("node:fs");
const path = require("node:path");
const esbuild = require("esbuild");

const here = __dirname;

exports.text = function () {
  const { metafile } = esbuild.buildSync({
    absWorkingDir: here, entryPoints: ["extension.js"], bundle: true, platform: "node", format: "cjs", external: ["vscode"], write: false, metafile: true,
  });
  const packages = new Set();
  for (const input of Object.keys(metafile.inputs)) {
    const at = input.lastIndexOf("node_modules/");
    if (at < 0) continue;
    const [scope, name] = input.slice(at + "node_modules/".length).split("/");
    packages.add(input.slice(0, at) + "node_modules/" + (scope.startsWith("@") ? `${scope}/${name}` : scope));
  }
  const parts = ["What the extension is bundled with, and under which terms. Made with  npm run --silent licenses\n"];
  for (const dir of [...packages].sort()) {
    const { name, version, license } = JSON.parse(fs.readFileSync(path.join(here, dir, "package.json"), "utf8"));
    const files = fs.readdirSync(path.join(here, dir)).filter((f) => /^(licen[cs]e|copying|notice|third)/i.test(f)).sort();
    if (!files.length) throw new Error(`${name} has no licence`);
    parts.push(`\n${"=".repeat(80)}\n${name} ${version} (${license})\n`);
    for (const f of files) {
      const text = fs.readFileSync(path.join(here, dir, f), "utf8").replaceAll("\r\n", "\n").replace(/[ \t\f]+$/gm, "").replace(/^\n+|\n+$/g, "");
      parts.push(`\n--- ${f}\n\n${text}\n`);
    }
  }
  return parts.join("");
};

if (require.main === module) process.stdout.write(exports.text());
