// What runs inside the panels. Each function stands alone: its text is put into
// a page, which knows nothing of the extension but what is sent to it.

// In a page of sheets: goes to the bar of the caret, says which bar was clicked,
// and keeps its place when the page is made anew. What a page can do by itself,
// to play and to show a bar, is asked for by its own controls.
exports.sheet = function () {
  const host = acquireVsCodeApi();
  const box = document.getElementById("to-bar"), where = document.querySelector(".where"), who = document.getElementById("who");
  const play = document.querySelector(".bar .main");
  const playing = () => play && play.textContent !== "Play";
  const title = document.title, held = host.getState() ?? {};
  const keep = (more) => host.setState({ ...host.getState(), title, y: scrollY, ...more });
  if (held.title === title) scrollTo(0, held.y);
  let told;
  addEventListener("scroll", () => {
    clearTimeout(told);
    told = setTimeout(keep, 100);
  });
  const go = (bar) => {
    if (!box || !bar) return;
    box.value = bar;
    box.dispatchEvent(new Event("change"));
  };
  // What has changed of the page is put in place, each picture and heading where it is, until
  // the page is made anew.
  const put = (units) => {
    const there = document.querySelectorAll("header h1, nav, main h2, main svg, svg.shapes");
    for (const [n, text, many] of units) {
      const made = document.createElement("template");
      made.innerHTML = text;
      const now = made.content.firstElementChild, was = there[n];
      if (there.length !== many || was?.localName !== now?.localName) return host.postMessage({ stale: true });
      for (const { name } of [...was.attributes]) if (!now.hasAttribute(name)) was.removeAttribute(name);
      for (const { name, value } of now.attributes) if (was.getAttribute(name) !== value) was.setAttribute(name, value);
      was.replaceChildren(...now.childNodes);
    }
  };
  addEventListener("message", (e) => {
    const { bar, listen, units } = e.data;
    if (units) return put(units);
    if (listen || !playing()) go(bar);
    if (listen && play && !playing()) play.click();
  });
  addEventListener("click", (e) => {
    if (!e.target.closest("main svg")) return;
    requestAnimationFrame(() => requestAnimationFrame(() => {
      const bar = where && /^bar (-?\d+)/.exec(where.textContent);
      if (bar && playing()) host.postMessage({ bar: Number(bar[1]), player: who ? who.selectedOptions[0].textContent : "" });
    }));
  });
  // What is shown is laid out for some widths alone: another one is asked for another
  // page, and so is whoever wants it as it is printed.
  const { from, to } = document.body.dataset, printed = document.getElementById("printed");
  let fitted;
  const fit = () => {
    if (from === undefined || innerWidth === 0 || (innerWidth >= from && innerWidth <= to)) return;
    host.postMessage({ width: innerWidth });
  };
  addEventListener("resize", () => {
    clearTimeout(fitted);
    fitted = setTimeout(fit, 150);
  });
  addEventListener("printed", () => {
    keep({ printed: true });
    host.postMessage({ whole: true });
  });
  printed?.addEventListener("change", () => {
    if (from !== undefined) return;
    keep({ printed: printed.checked });
    if (!printed.checked) host.postMessage({ whole: false });
  });
  if (held.printed && from === undefined) printed?.click();
  if (held.printed && from !== undefined) host.postMessage({ whole: true });
  host.postMessage({ ready: true });
  fit();
};

// The set-up of a player from above: things are dragged, or moved with arrow keys.
exports.setup = function () {
  const host = acquireVsCodeApi();
  const svgName = "http://www.w3.org/2000/svg";
  const floor = document.getElementById("floor"), who = document.getElementById("who"), said = document.getElementById("said"), list = document.getElementById("list");
  let plan, scale = 1;
  let moving; // what is being moved: {n, right, ahead, timer}
  let sent = false; // a move is on its way into the text
  let drawing = false;

  function make(name, attributes, ...inside) {
    const e = document.createElementNS(svgName, name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    e.append(...inside);
    return e;
  }

  // The words by which a text says where something is.
  function words(right, ahead) {
    const step = (v, plus, minus) => (Math.round(v) === 0 ? "" : ` ${v > 0 ? plus : minus} ${Math.abs(Math.round(v))}`);
    return step(right, "right", "left") + step(ahead, "ahead", "behind") || " ahead 0";
  }

  function extent() {
    const at = [];
    for (const s of plan.stations) at.push([s.right - plan.lean, s.ahead - 40, s.right + plan.lean, s.ahead + plan.lean]);
    for (const t of plan.things) for (const b of t.bodies) at.push([b.right - b.wide, b.ahead - b.wide, b.right + b.wide, b.ahead + b.wide]);
    const least = (k) => Math.min(...at.map((a) => a[k])), most = (k) => Math.max(...at.map((a) => a[k]));
    return { left: least(0) - 20, near: least(1) - 20, right: most(2) + 20, far: most(3) + 40 };
  }

  function shape(b) {
    const at = `translate(${b.right} ${-b.ahead}) rotate(${b.turn})`;
    if (b.round) return make("circle", { r: b.wide / 2, transform: at });
    return make("rect", { x: -b.wide / 2, y: -b.deep / 2, width: b.wide, height: b.deep, transform: at });
  }

  function draw() {
    drawing = true; // what has the focus is made anew, which is no leaving
    redraw();
    drawing = false;
  }

  function redraw() {
    const focused = document.activeElement?.dataset?.n;
    const x = extent();
    floor.setAttribute("viewBox", `${x.left} ${-x.far} ${x.right - x.left} ${x.far - x.near}`);
    scale = Math.max((x.right - x.left) / Math.max(1, floor.clientWidth), (x.far - x.near) / Math.max(1, floor.clientHeight));
    floor.style.setProperty("--px", `${scale}px`); // a pixel of the screen, in the drawing's centimetres
    floor.replaceChildren(make("text", { x: (x.left + x.right) / 2, y: -x.far + 16 * scale, class: "small", "text-anchor": "middle" }, "↑ conductor"));
    for (const s of plan.stations) {
      floor.append(make("circle", { class: "reach", cx: s.right, cy: -s.ahead, r: plan.reach }), make("circle", { class: "reach far", cx: s.right, cy: -s.ahead, r: plan.lean }),
        make("circle", { class: "person", cx: s.right, cy: -s.ahead, r: 12 }), make("text", { class: "small", x: s.right, y: 14 + 12 * scale - s.ahead, "text-anchor": "middle" }, s.name || plan.player));
    }
    const taken = [], names = [];
    const size = (t) => Math.max(...t.bodies.map((b) => b.wide * (b.round ? b.wide : b.deep)));
    [...plan.things.keys()].sort((a, b) => size(plan.things[b]) - size(plan.things[a])).forEach((n) => { // what is small lies above what is large
      const t = plan.things[n];
      const g = make("g", { "data-n": n, tabindex: 0, role: "button", "aria-label": label(t), class: ["thing", t.written ? "" : "assumed", t.clashes ? "clash" : "", t.moves ? "" : "fixed", t.here ? "here" : ""].join(" ") });
      g.append(make("title", {}, label(t)), ...t.bodies.map(shape));
      names.push(named(t, n, taken));
      floor.append(g);
    });
    floor.append(...names);
    list.replaceChildren(...plan.things.map((t) => {
      const li = document.createElement("li");
      li.textContent = label(t);
      return li;
    }));
    who.replaceChildren(...plan.players.map((p) => new Option(p, p, p === plan.player, p === plan.player)));
    if (focused !== undefined) floor.querySelector(`.thing[data-n="${focused}"]`)?.focus();
  }

  // A thing's name, above or below its middle where others have theirs already.
  function named(t, n, taken) {
    const text = (t.clashes ? "! " : "") + t.name, half = text.length * 3.4 * scale, high = 13 * scale;
    let y = -t.ahead + 4 * scale;
    for (const by of [0, -1, 1, -2, 2, -3, 3]) {
      const at = -t.ahead + 4 * scale + by * high;
      if (taken.some((o) => Math.abs(o.x - t.right) < o.half + half && Math.abs(o.y - at) < high)) continue;
      y = at;
      break;
    }
    taken.push({ x: t.right, y, half });
    return make("text", { x: t.right, y, "text-anchor": "middle", "data-n": n, "aria-hidden": true }, text);
  }

  function label(t) {
    return [t.name, t.place, t.written ? "" : "taken to stand there", t.clashes ? "stands in something else" : "", t.moves ? "" : "another file says where"].filter(Boolean).join(", ");
  }

  // Shows where the thing that is moved would stand, before anything is written.
  function show() {
    const t = plan.things[moving.n];
    for (const e of floor.querySelectorAll(`[data-n="${moving.n}"]`)) e.setAttribute("transform", `translate(${moving.right - t.right} ${t.ahead - moving.ahead})`);
    said.textContent = `${t.name}:${words(moving.right, moving.ahead)}`;
  }

  function begin(n) {
    const t = plan.things[n];
    if (!t.moves) {
      said.textContent = `${t.name}: another file says where it stands`;
      return false;
    }
    moving = { n, right: t.right, ahead: t.ahead };
    return true;
  }

  function write() {
    if (!moving) return;
    clearTimeout(moving.timer);
    if (sent) { // where it stands is not known before that is there
      moving.timer = setTimeout(write, 100);
      return;
    }
    const { n, right, ahead } = moving, t = plan.things[n];
    moving = undefined;
    if (Math.round(right) === Math.round(t.right) && Math.round(ahead) === Math.round(t.ahead)) return draw();
    sent = true;
    host.postMessage({ put: n, player: plan.player, version: plan.version, right: Math.round(right), ahead: Math.round(ahead) });
  }

  function leave() {
    if (!moving) return;
    clearTimeout(moving.timer);
    moving = undefined;
    said.textContent = "";
    draw();
  }

  floor.addEventListener("pointerdown", (e) => {
    const g = e.target.closest(".thing");
    if (!g) return;
    write();
    const n = Number(g.dataset.n);
    g.focus();
    host.postMessage({ line: plan.things[n].line });
    if (!begin(n)) return;
    Object.assign(moving, { x: e.clientX, y: e.clientY, fromRight: moving.right, fromAhead: moving.ahead });
    floor.setPointerCapture(e.pointerId);
    e.preventDefault();
  });
  floor.addEventListener("pointermove", (e) => {
    if (moving?.x === undefined) return;
    moving.right = moving.fromRight + (e.clientX - moving.x) * scale;
    moving.ahead = moving.fromAhead - (e.clientY - moving.y) * scale;
    show();
  });
  floor.addEventListener("pointerup", () => moving?.x !== undefined && write());
  floor.addEventListener("pointercancel", leave);
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  floor.addEventListener("keydown", (e) => {
    const g = e.target.closest(".thing"), way = ways[e.key];
    if (e.key === "Escape") return leave();
    if (e.key === "Enter") return write();
    if (!g || !way) return;
    e.preventDefault();
    const n = Number(g.dataset.n);
    if (moving && moving.n !== n) write();
    if (!moving && !begin(n)) return;
    const by = e.shiftKey ? 10 : 1;
    moving.right += way[0] * by;
    moving.ahead += way[1] * by;
    show();
    clearTimeout(moving.timer);
    moving.timer = setTimeout(write, 500);
  });
  floor.addEventListener("focusout", () => !drawing && moving && moving.x === undefined && write());
  who.addEventListener("change", () => host.postMessage({ who: who.value }));
  addEventListener("message", (e) => {
    if (sent && !e.data.done) return; // about the text as it was
    sent = false;
    if (e.data.said !== undefined) {
      said.textContent = e.data.said;
      draw();
      if (moving) show();
      return;
    }
    const was = plan?.things[moving?.n], is = e.data.plan.things[moving?.n];
    const goes = was && is && plan.player === e.data.plan.player && was.name === is.name;
    plan = e.data.plan;
    draw();
    if (!moving) return;
    if (!goes) return leave();
    // What is in the hand goes on from where it stands now.
    for (const [k, to] of [["right", "right"], ["ahead", "ahead"], ["fromRight", "right"], ["fromAhead", "ahead"]]) moving[k] += is[to] - was[to];
    show();
  });
  addEventListener("resize", () => plan && draw());
  host.postMessage({ ready: true });
};

const setupStyle = `
body { margin: 0; padding: 8px; color: var(--vscode-editor-foreground); font-family: var(--vscode-font-family); font-size: var(--vscode-font-size); }
#floor { display: block; width: 100%; height: 60vh; background: var(--vscode-editor-background); border: 1px solid var(--vscode-panel-border, currentColor); touch-action: none; }
#floor text { fill: var(--vscode-editor-foreground); font-size: calc(11 * var(--px)); pointer-events: none; paint-order: stroke; stroke: var(--vscode-editor-background); stroke-width: calc(3 * var(--px)); }
#floor .small { opacity: .8; }
.reach { fill: none; stroke: var(--vscode-editor-foreground); stroke-width: var(--px); opacity: .5; }
.far { stroke-dasharray: calc(2 * var(--px)) calc(3 * var(--px)); }
.person { fill: var(--vscode-editor-foreground); opacity: .6; }
.thing { cursor: grab; outline: none; }
.thing circle, .thing rect { fill: var(--vscode-editorWidget-background, Canvas); fill-opacity: .6; stroke: var(--vscode-editor-foreground); stroke-width: calc(1.5 * var(--px)); }
.thing.assumed circle, .thing.assumed rect { stroke-dasharray: calc(5 * var(--px)) calc(4 * var(--px)); }
.thing.fixed { cursor: not-allowed; }
.thing.clash circle, .thing.clash rect { stroke: var(--vscode-errorForeground, red); stroke-width: calc(3.5 * var(--px)); }
.thing.here circle, .thing.here rect { fill: var(--vscode-editor-selectionBackground, Highlight); }
.thing:focus-visible circle, .thing:focus-visible rect, .thing:focus circle, .thing:focus rect { stroke: var(--vscode-focusBorder, Highlight); stroke-width: calc(3 * var(--px)); }
#said { min-height: 1.4em; margin: 6px 0; font-family: var(--vscode-editor-font-family); }
select { color: var(--vscode-dropdown-foreground); background: var(--vscode-dropdown-background); border: 1px solid var(--vscode-dropdown-border); }
`;

// The page of the set-up, which has nothing but its one script and its one style.
exports.setupPage = (nonce) => `<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Set-up</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'nonce-${nonce}'; script-src 'nonce-${nonce}'; base-uri 'none'; form-action 'none'">
<style nonce="${nonce}">${setupStyle}</style></head>
<body><main aria-label="Set-up from above">
<p><label for="who">Whose set-up</label> <select id="who"></select></p>
<svg id="floor" role="group" aria-label="Things seen from above, the conductor at the top"></svg>
<p id="said" role="status"></p>
<p>Drag a thing, or choose it with Tab and move it with the arrow keys, 10 cm at a time with Shift. What stands in the text follows. Dashed is what the text does not place, thick and marked ! what stands in something else.</p>
<ul id="list" aria-label="Where everything stands"></ul>
</main><script nonce="${nonce}">(${exports.setup})();</script></body></html>`;

// How long nothing has changed, in milliseconds, when a page that was changed in its place is
// made anew: it plays by what it was made with.
exports.calm = 1500;

// A page of sheets in two: the pictures and headings that are shown, and all else that
// can be seen of it, without what it is called and what it plays by.
exports.cut = (page) => {
  const end = page.indexOf('<script type="application/json" id="play">');
  const seen = (end < 0 ? page : page.slice(0, end)).replace(/<title>[^<]*<\/title>/, "").replace(/<details>[^]*?<\/details>/g, "");
  const parts = seen.split(/(<svg\b[^]*?<\/svg>|<nav\b[^]*?<\/nav>|<h[12]\b[^]*?<\/h[12]>)/);
  return { units: parts.filter((_, n) => n % 2 === 1), rest: parts.filter((_, n) => n % 2 === 0).join("\n") };
};

// What of a page's pictures and headings is otherwise than in an earlier one: its place, what
// stands there now, and how many there are; undefined where more than these has changed.
exports.changed = (old, now) => {
  if (old.rest !== now.rest || old.units.length !== now.units.length) return undefined;
  return now.units.flatMap((text, n) => (text === old.units[n] ? [] : [[n, text, now.units.length]]));
};

// A page of sheets with what lets it follow the caret. Its own rules of what may
// run in it stay as they are, but for that.
exports.followed = (page, nonce) => {
  const rule = page.includes("script-src ") ? page.replace("script-src ", `script-src 'nonce-${nonce}' `) : page.replace("form-action 'none'", `form-action 'none'; script-src 'nonce-${nonce}'`);
  const end = rule.lastIndexOf("</body>");
  return `${rule.slice(0, end)}<script nonce="${nonce}">(${exports.sheet})();</script>\n${rule.slice(end)}`;
};
