// Makes the package: of the same files the same bytes, whenever and wherever.
const { createVSIX } = require("@vscode/vsce");

exports.pack = async function (out) {
  process.env.TZ = "UTC"; // times in a package are local ones
  process.env.SOURCE_DATE_EPOCH = "1767225600"; // the time of all its files
  await createVSIX({ cwd: __dirname, packagePath: out, allowMissingRepository: true });
};

if (require.main === module) {
  exports.pack(process.argv[2] ?? "handful.vsix").catch((e) => {
    console.error(e.message);
    process.exit(1);
  });
}
