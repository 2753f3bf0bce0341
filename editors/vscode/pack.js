// Makes the package: of the same files the same bytes, whenever and wherever.
const fs = require("node:fs");
const path = require("node:path");
const { createVSIX } = require("@vscode/vsce");

// What the walkthrough shows are the pictures of the README, which the tests take.
const pictures = ["vscode-hover.png", "vscode-setup.png"];

exports.pack = async function (out) {
  process.env.TZ = "UTC"; // times in a package are local ones
  process.env.SOURCE_DATE_EPOCH = "1767225600"; // the time of all its files
  for (const name of pictures) {
    fs.copyFileSync(path.join(__dirname, "..", "pictures", name), path.join(__dirname, "walkthrough", name));
  }
  await createVSIX({ cwd: __dirname, packagePath: out, allowMissingRepository: true });
};

if (require.main === module) {
  exports.pack(process.argv[2] ?? "handful.vsix").catch((e) => {
    console.error(e.message);
    process.exit(1);
  });
}
