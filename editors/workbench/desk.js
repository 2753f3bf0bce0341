// A real VS Code workbench in Chromium, with the packaged extension and the
// real server, for tests to sit down at.
const { spawn, spawnSync } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { chromium } = require("playwright-core");

const code = path.join(__dirname, "node_modules", "code-server", "lib", "vscode");
const shots = process.env.HANDFUL_SHOTS; // where pictures go, if anybody wants some

// The workbench's own packages, as it installs them itself.
// Nothing of it is compiled: what is left out are terminals and its log.
function furnish() {
  if (!fs.existsSync(path.join(code, "node_modules"))) {
    run("npm", ["install", "--omit=dev", "--ignore-scripts", "--no-audit", "--no-fund", "--silent"], { cwd: code });
  }
  const product = path.join(code, "product.json");
  const { extensionsGallery, ...rest } = JSON.parse(fs.readFileSync(product, "utf8"));
  if (extensionsGallery) fs.writeFileSync(product, JSON.stringify(rest)); // it asks nobody for extensions
}

function run(command, args, options) {
  const done = spawnSync(command, args, { encoding: "utf8", ...options });
  if (done.status !== 0) throw new Error(`${command} ${args.join(" ")}: ${done.stdout}${done.stderr}`);
  return done.stdout;
}

function browser() {
  const found = ["chromium", "chromium-browser"].flatMap((name) => process.env.PATH.split(path.delimiter).map((d) => path.join(d, name))).find((f) => fs.existsSync(f));
  if (!found) throw new Error("there is no chromium on the path");
  return found;
}

const room = fs.mkdtempSync(path.join(os.tmpdir(), "workbench-"));
const server = path.join(code, "out", "server-main.js");
const places = ["--server-data-dir", path.join(room, "data"), "--extensions-dir", path.join(room, "extensions"), "--accept-server-license-terms"];
let packed;

// Packs the extension and puts it where the workbench looks.
function install(handful) {
  furnish();
  if (!packed) {
    const extension = path.join(__dirname, "..", "vscode");
    packed = path.join(room, "handful.vsix");
    run("node", ["pack.js", packed], { cwd: extension });
    run("node", [server, ...places, "--install-extension", packed]);
  }
  const machine = path.join(room, "data", "data", "Machine");
  fs.mkdirSync(machine, { recursive: true });
  fs.writeFileSync(path.join(machine, "settings.json"), JSON.stringify({
    "handful.path": handful, "telemetry.telemetryLevel": "off", "workbench.startupEditor": "none", "workbench.tips.enabled": false,
    "files.autoSave": "off", "extensions.ignoreRecommendations": true, "extensions.autoCheckUpdates": false,
  }));
}

// Starts it all with a folder of files, by name; trusted says what is answered
// to the question whether their authors are.
exports.sitDown = async function ({ files = {}, trusted = true, handful = process.env.HANDFUL, tall = 1500, wide = 1400 } = {}) {
  install(handful);
  const folder = fs.mkdtempSync(path.join(room, "folder-"));
  for (const [name, text] of Object.entries(files)) fs.writeFileSync(path.join(folder, name), text);
  const serving = spawn("node", [server, ...places, "--host", "127.0.0.1", "--port", "0", "--without-connection-token", "--telemetry-level", "off"], { stdio: ["ignore", "pipe", "pipe"] });
  serving.stderr.resume();
  const port = await new Promise((done, fail) => {
    let said = "";
    serving.stdout.on("data", (d) => {
      said += d;
      const at = /agent listening on (\d+)/.exec(said);
      if (at) done(at[1]);
    });
    serving.on("exit", () => fail(new Error(`the workbench did not start: ${said}`)));
  });
  const shown = await chromium.launch({ executablePath: browser(), args: ["--no-sandbox"] });
  const page = await shown.newPage({ viewport: { width: wide, height: tall } });
  page.setDefaultTimeout(60000);
  await page.goto(`http://127.0.0.1:${port}/?folder=${encodeURIComponent(folder)}`);
  await page.getByRole("button", { name: trusted ? "Yes, I trust the authors" : "No, I don't trust the authors" }).click();
  const desk = new Desk(page, folder);
  desk.leave = async () => {
    await shown.close();
    const gone = new Promise((done) => serving.on("exit", done));
    serving.kill();
    await gone;
  };
  return desk;
};

process.on("exit", () => fs.rmSync(room, { recursive: true, force: true }));

class Desk {
  constructor(page, folder) {
    this.page = page;
    this.folder = folder;
  }

  async open(name) {
    await this.page.locator(".explorer-folders-view").getByText(name, { exact: true }).dblclick();
    await this.page.locator(".tab.active").getByText(name).waitFor();
    await this.page.locator(".part.editor .view-lines").first().click({ position: { x: 5, y: 5 } });
  }

  // Goes to a line, counted from 1.
  async go(line) {
    await this.page.keyboard.press("F1");
    await this.page.locator(".quick-input-widget input.input").fill(`:${line}`);
    await this.page.keyboard.press("Enter");
    await this.page.locator(".quick-input-widget").waitFor({ state: "hidden" });
    await this.until(`line ${line} is not gone to`, () => this.caret(), (c) => c.line === line);
  }

  // Runs a command of the palette by its whole name.
  async command(name) {
    await this.page.keyboard.press("F1");
    const box = this.page.locator(".quick-input-widget input.input");
    await box.fill(">" + name);
    await this.page.locator(".quick-input-list .monaco-list-row").getByText(name, { exact: true }).first().waitFor();
    await this.page.keyboard.press("Enter");
  }

  // Where the caret is, counted from 1, as the bottom of the window says.
  async caret() {
    const text = await this.page.locator("#status\\.editor\\.selection").innerText();
    const [, line, col] = /Ln (\d+), Col (\d+)/.exec(text);
    return { line: Number(line), col: Number(col) };
  }

  // Waits until something holds, and says what was there when it never does.
  async until(what, look, holds) {
    const end = Date.now() + 60000;
    for (;;) {
      const seen = await look();
      if (holds(seen)) return seen;
      if (Date.now() > end) await this.picture("failed");
      if (Date.now() > end) throw new Error(`${what}: ${JSON.stringify(seen)}`);
      await this.page.waitForTimeout(50);
    }
  }

  // Points at something and reads what is shown of it. What is under the pointer
  // can be drawn anew at that very moment, and then nothing is shown: whoever sees
  // nothing points elsewhere, and there again.
  async hover(thing) {
    const shown = this.page.locator(".monaco-hover:visible");
    if ((await shown.count()) === 0) {
      await this.page.mouse.move(5, 5);
      await thing.hover();
      await this.page.waitForTimeout(1500);
    }
    return (await shown.allInnerTexts()).join("\n");
  }

  // The lines on which something is underlined, of a severity.
  squiggles(severity) {
    return this.page.evaluate((s) => window.underlined(s), severity);
  }

  // What is shown in corners of the window.
  async notices() {
    return this.page.locator(".notification-list-item-message").allInnerTexts();
  }

  // Goes back from a panel to the text.
  async toText() {
    const status = this.page.locator("#status\\.editor\\.selection");
    // A page that is made anew at that very moment takes the focus back: whoever is not there goes again.
    await this.until("the text does not get the focus", async () => {
      await this.page.keyboard.press("Control+1");
      await this.page.waitForTimeout(700);
      return status.count();
    }, (n) => n > 0);
  }

  // Saves a file that was changed, and says what is in it then; while it is being
  // written there is nothing in it.
  async save(name) {
    const read = () => fs.readFileSync(path.join(this.folder, name), "utf8");
    const before = read();
    await this.page.keyboard.press("Control+S");
    return this.until("it is not saved", read, (now) => now !== before && now !== "");
  }

  async picture(name) {
    if (shots) await this.page.screenshot({ path: path.join(shots, name + ".png") });
  }

  // Puts what looks at the screen into the page.
  async watch() {
    await this.page.evaluate(watcher);
  }
}

// In the page: which lines are underlined, and how long they have been, looked
// at every 25 ms.
function watcher() {
  const lineOf = (editor) => {
    const lines = new Map();
    for (const row of editor.querySelectorAll(".margin-view-overlays > div")) {
      const n = row.querySelector(".line-numbers");
      if (n) lines.set(row.style.top, Number(n.textContent));
    }
    return lines;
  };
  window.underlined = (severity) => {
    const editor = document.querySelector(".part.editor .monaco-editor");
    if (!editor) return [];
    const lines = lineOf(editor);
    const out = new Set();
    for (const mark of editor.querySelectorAll(`.view-overlays .squiggly-${severity}`)) out.add(lines.get(mark.parentElement.style.top));
    return [...out].filter((n) => n !== undefined);
  };
  window.flashes = [];
  const since = new Map();
  setInterval(() => {
    const now = new Set();
    for (const severity of ["error", "warning", "info"]) {
      for (const line of window.underlined(severity)) now.add(`${severity} ${line}`);
    }
    for (const what of now) if (!since.has(what)) since.set(what, performance.now());
    for (const [what, began] of since) {
      if (now.has(what)) continue;
      if (performance.now() - began < 1000) window.flashes.push(what);
      since.delete(what);
    }
  }, 25);
}
