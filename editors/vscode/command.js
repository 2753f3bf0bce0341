// Finds the handful command: a path as it is, a name on the search path and
// then where Go puts what it installs. What comes out is a whole path or
// undefined, so that nothing that lies in the opened folder is ever started by
// its name.
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");

function startable(file) {
  try {
    if (!fs.statSync(file).isFile()) return false;
    if (process.platform !== "win32") fs.accessSync(file, fs.constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

exports.find = function (name, env = process.env, home = os.homedir()) {
  if (name.startsWith("~/")) name = path.join(home, name.slice(2));
  const endings = process.platform === "win32" && path.extname(name) === "" ? [".exe"] : [""];
  let folders = [];
  if (path.isAbsolute(name)) {
    folders = [""];
  } else if (path.basename(name) === name) {
    const search = env.PATH ?? env.Path ?? "";
    const go = (env.GOPATH ?? path.join(home, "go")).split(path.delimiter).map((d) => path.join(d, "bin"));
    folders = [...search.split(path.delimiter), env.GOBIN ?? "", ...go].filter((d) => path.isAbsolute(d));
  } // else a path from nobody knows where: none
  for (const folder of folders) {
    for (const ending of endings) {
      const file = path.join(folder, name + ending);
      if (startable(file)) return file;
    }
  }
  return undefined;
};
