// Makes the package: of the same files the same bytes, whenever and wherever.
//
//   node pack.js [handful.vsix [https://where/these/files/are/shown]]
//
// The pictures of the README are in the package; a marketplace that shows the README
// without it is led to the same files at an address, where one is given.
const { createVSIX } = require("@vscode/vsce");

exports.pack = async function (out, shownAt) {
  process.env.TZ = "UTC"; // times in a package are local ones
  process.env.SOURCE_DATE_EPOCH = "1767225600"; // the time of all its files
  const pictures = shownAt ? { baseImagesUrl: shownAt, baseContentUrl: shownAt } : { rewriteRelativeLinks: false };
  await createVSIX({ cwd: __dirname, packagePath: out, ...pictures });
};

if (require.main === module) {
  exports.pack(process.argv[2] ?? "handful.vsix", process.argv[3]).catch((e) => {
    console.error(e.message);
    process.exit(1);
  });
}
