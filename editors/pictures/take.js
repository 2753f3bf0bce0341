// Pictures of the editors in a terminal, with the real server: a piece that
// cannot be played is opened, and the reason asked for where the line is marked.
//   HANDFUL=/the/command node editors/pictures/take.js [neovim|vim|emacs …]
// What is on the screen becomes NAME.svg beside this, or in the folder HANDFUL_SHOTS.
const { spawnSync } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");

const editors = path.join(__dirname, "..");
const home = fs.mkdtempSync(path.join(os.tmpdir(), "pictures-"));
const command = process.env.HANDFUL ?? "handful";
const [wide, tall] = [110, 34];

// An invented piece: one hand has two instruments, two things to hold, and no
// time between them.
const piece = fs.readFileSync(path.join(editors, "two-hands.handful"), "utf8");
const bad = 10; // the line that is marked

const write = (name, text) => {
  const file = path.join(home, name);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  fs.writeFileSync(file, text);
  return file;
};

// What each is started with, what is on the screen once the line is marked, and
// what is typed to ask for the reason.
const all = {
  neovim: {
    start: (file) => ["nvim", "-u", write("init.lua", `
vim.opt.rtp:prepend(${JSON.stringify(path.join(editors, "neovim"))})
vim.cmd("filetype plugin on | syntax on | set background=light | runtime! plugin/handful.lua")
require("handful").setup({ cmd = { ${JSON.stringify(command)}, "lsp" } })
`), "-i", "NONE", `+call cursor(${bad}, 5)`, file],
    marked: /bar 4, count 1/,
    ask: [":lua vim.lsp.buf.hover()", "Enter"],
  },
  vim: {
    start: (file) => {
      write(".vim/plugin/handful.vim", fs.readFileSync(path.join(editors, "vim", "handful.vim"), "utf8"));
      return ["vim", "-N", "-u", write(".vimrc", `
set nocompatible background=light runtimepath+=/usr/share/vim-ale
let g:handful_command = ${JSON.stringify(command)}
let g:ale_hover_to_preview = 1
filetype plugin on
syntax on
`), `+call cursor(${bad}, 5)`, file];
    },
    marked: /bar 4, count 1/,
    ask: [":ALEHover", "Enter"],
  },
  emacs: {
    start: (file) => ["emacs", "-nw", "-q", "--no-splash", "-L", path.join(editors, "emacs"), "-l", write("init.el", `
(setq native-comp-async-report-warnings-errors nil)
(package-activate-all)
(require 'handful-mode)
(setq handful-command '(${JSON.stringify(command)} "lsp"))
(menu-bar-mode -1)
(setq frame-background-mode 'light)
(mapc #'frame-set-background-mode (frame-list))
(add-hook 'handful-mode-hook #'eglot-ensure)
`), `+${bad}:5`, file],
    marked: /\[1 \d/, // how many errors there are, at the bottom
    ask: ["M-x", "eldoc", "Enter"],
  },
};

let who; // each has a terminal of its own
const tmux = (...args) => {
  const done = spawnSync("tmux", ["-L", `pictures-${process.pid}-${who}`, ...args], { encoding: "utf8", env: { ...process.env, HOME: home, TERM: "xterm-256color" } });
  if (done.error) throw done.error;
  return done.stdout;
};
const screen = () => tmux("capture-pane", "-p", "-e", "-N", "-t", "it");
const plain = (text) => text.replace(/\x1b\[[\d;:]*m/g, "");
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

async function until(what, holds) {
  const end = Date.now() + 60000;
  for (;;) {
    const now = screen();
    if (holds(plain(now))) return now;
    if (Date.now() > end) throw new Error(`${what}:\n${plain(now)}`);
    await pause(200);
  }
}

async function take(name) {
  const { start, marked, ask } = all[name];
  who = name;
  const file = write("show.handful", piece);
  tmux("new-session", "-d", "-s", "it", "-x", wide, "-y", tall, ...start(file));
  try {
    await until(`${name} marks nothing`, (s) => marked.test(s));
    tmux("send-keys", "-t", "it", ...ask.slice(0, -1));
    tmux("send-keys", "-t", "it", ask.at(-1));
    await until(`${name} shows no reason`, (s) => /to spare/.test(s));
    await pause(500); // until all of it is drawn
    fs.writeFileSync(path.join(process.env.HANDFUL_SHOTS ?? __dirname, name + ".svg"), drawn(screen(), `A piece in ${name}: the reason at the line that is marked`));
  } finally {
    tmux("kill-server");
  }
}

// ---- from the screen to a picture ----

const sixteen = ["#000000", "#c0392b", "#1e7d32", "#8a6d00", "#1f5fa8", "#8e44ad", "#00788a", "#d0d0d0", "#666666", "#e74c3c", "#2e9e4a", "#b58900", "#2f80d0", "#a65ec4", "#0097a7", "#ffffff"];
function colour(n) {
  if (n < 16) return sixteen[n];
  if (n >= 232) return `rgb(${Array(3).fill(8 + 10 * (n - 232))})`;
  return `rgb(${[36, 6, 1].map((d) => [0, 95, 135, 175, 215, 255][Math.floor((n - 16) / d) % 6])})`;
}

// One sequence of SGR, applied to how letters look.
function look(now, codes) {
  const c = codes === "" ? ["0"] : codes.split(";");
  for (let i = 0; i < c.length; i++) {
    const [n, more] = c[i].split(":").map(Number);
    if (n === 0) now = {};
    else if (n === 1) now = { ...now, bold: true };
    else if (n === 3) now = { ...now, slanted: true };
    else if (n === 4) now = { ...now, line: more !== 0 };
    else if (n === 7) now = { ...now, turned: true };
    else if (n === 22) now = { ...now, bold: false };
    else if (n === 23) now = { ...now, slanted: false };
    else if (n === 24) now = { ...now, line: false };
    else if (n === 27) now = { ...now, turned: false };
    else if (n === 39) now = { ...now, ink: undefined };
    else if (n === 49) now = { ...now, paper: undefined };
    else if (n >= 30 && n < 38) now = { ...now, ink: colour(n - 30) };
    else if (n >= 90 && n < 98) now = { ...now, ink: colour(n - 82) };
    else if (n >= 40 && n < 48) now = { ...now, paper: colour(n - 40) };
    else if (n >= 100 && n < 108) now = { ...now, paper: colour(n - 92) };
    else if (n === 38 || n === 48) {
      const of = c[i + 1] === "5" ? colour(Number(c[i + 2])) : `rgb(${c.slice(i + 2, i + 5)})`;
      i += c[i + 1] === "5" ? 2 : 4;
      now = { ...now, [n === 38 ? "ink" : "paper"]: of };
    }
  }
  return now;
}

const escaped = (text) => text.replace(/[&<>]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;" })[c]);

function drawn(text, title) {
  const [w, h, edge] = [8, 17, 10];
  const out = [];
  text.split("\n").slice(0, tall).forEach((line, y) => {
    let now = {}, x = 0;
    for (const [, codes, words] of line.matchAll(/(?:\x1b\[([\d;:]*)m)?([^\x1b]*)/g)) {
      if (codes !== undefined) now = look(now, codes);
      if (!words) continue;
      const [ink, paper] = now.turned ? [now.paper ?? "#ffffff", now.ink ?? "#1b1b1b"] : [now.ink ?? "#1b1b1b", now.paper];
      const n = [...words].length, at = edge + w * x;
      if (paper) out.push(`<rect x="${at}" y="${edge + h * y}" width="${w * n}" height="${h}" fill="${paper}"/>`);
      if (words.trim()) {
        const style = (now.bold ? ' font-weight="bold"' : "") + (now.slanted ? ' font-style="italic"' : "") + (now.line ? ' text-decoration="underline"' : "");
        out.push(`<text x="${at}" y="${edge + h * y + 13}" textLength="${w * n}" fill="${ink}"${style}>${escaped(words)}</text>`);
      }
      x += n;
    }
  });
  const [W, H] = [2 * edge + w * wide, 2 * edge + h * tall];
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${W} ${H}" width="${W}" height="${H}" role="img" aria-label="${escaped(title)}" font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="13">
<style>text{white-space:pre}</style>
<rect width="${W}" height="${H}" rx="6" fill="#ffffff" stroke="#bbbbbb"/>
${out.join("\n")}
</svg>
`;
}

(async () => {
  for (const name of process.argv.length > 2 ? process.argv.slice(2) : Object.keys(all)) await take(name);
  fs.rmSync(home, { recursive: true, force: true });
})();
