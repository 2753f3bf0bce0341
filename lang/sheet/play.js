// What a page of cue sheets plays: a click for each hand, a head that follows,
// and what a change has and needs at the tempo that is chosen. It has no
// knowledge of music of its own: the page's data say when everything is.
'use strict';
(() => {
const data = JSON.parse(document.getElementById('play').textContent);
const root = document.documentElement;
const TENTHS = 10000;       // of a millisecond in a second, as the data have times
const AHEAD = 0.35;         // seconds that are scheduled before they sound
const EVERY = 90;           // milliseconds between two looks ahead
const ROLL = 0.07;          // seconds between the clicks of a roll
const calm = matchMedia('(prefers-reduced-motion: reduce)');

// make builds an element: its name, its attributes, and what is in it.
function make(name, attributes, ...inside) {
  const e = document.createElement(name);
  for (const [k, v] of Object.entries(attributes || {})) {
    if (k.startsWith('on')) e.addEventListener(k.slice(2), v);
    else if (v === true) e.setAttribute(k, '');
    else if (v !== false && v !== undefined) e.setAttribute(k, v);
  }
  e.append(...inside);
  return e;
}

// ---- what is played ----

// unpack lays a piece out: its bars as played, and every stroke in order.
function unpack(piece) {
  const bars = piece.bars.map(([bar, meter, pass, ...times], n) => ({
    n, bar, pass, shares: piece.meters[meter],
    beats: times.slice(0, -1).map(t => t / TENTHS), start: times[0] / TENTHS, end: times[times.length - 1] / TENTHS,
  }));
  const notes = [];
  piece.voices.forEach(voice => {
    let t = 0;
    voice.t.forEach((step, i) => {
      t += step;
      notes.push({t: t / TENTHS, lasts: voice.l ? voice.l[i] / TENTHS : 0, voice});
    });
  });
  notes.sort((a, b) => a.t - b.t);
  const total = bars.length ? bars[bars.length - 1].end : 0;
  return {...piece, bars, notes, total};
}
const pieces = data.pieces.map(unpack);

// firstAt is the index of the first of a list whose time is not before t.
function firstAt(list, t, time) {
  let lo = 0, hi = list.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (time(list[mid]) < t) lo = mid + 1; else hi = mid;
  }
  return lo;
}

const state = {
  part: data.parts[0], piece: pieces[data.parts[0].piece],
  rate: 1, at: 0, on: false, hands: 'B', mine: true, others: false, beats: true, countIn: true, keys: true, volume: 0.35,
  loop: null, once: false, change: -1, step: -1,
};

const barAt = t => state.piece.bars[Math.max(0, Math.min(state.piece.bars.length - 1, firstAt(state.piece.bars, t + 1e-4, b => b.start) - 1))];

// ---- sound ----

// Each thing has a pitch of its own, and each hand a side: the right hand clicks
// higher and on the right.
const steps = [0, 4, 7, 11, 14, 2, 9, 16];
function soundOf(voice, mine) {
  const high = voice.h === 'L' ? 0 : voice.h === 'F' ? -12 : 7;
  return {
    pitch: 700 * 2 ** ((high + steps[voice.n % steps.length]) / 12) * (mine ? 1 : 0.5),
    pan: !mine ? 0 : voice.h === 'R' ? 0.6 : voice.h === 'L' ? -0.6 : 0,
    gain: (mine ? 0.5 : 0.22) * (0.35 + 0.65 * Math.min(8, voice.d || 5) / 8),
  };
}

// heard says whether a voice is to be heard.
function heard(voice) {
  if (voice.p !== state.part.player) return state.others;
  return state.mine && (state.hands === 'B' || voice.h.includes(state.hands));
}

// A desk is what the clicks of one audio context go through.
function desk(ctx) {
  const volume = ctx.createGain();
  const soft = ctx.createWaveShaper(); // however many strike at once, it does not get louder than full
  const curve = new Float32Array(1025);
  for (let i = 0; i < curve.length; i++) curve[i] = Math.tanh(i / 512 - 1);
  soft.curve = curve;
  volume.gain.value = state.volume;
  volume.connect(soft).connect(ctx.destination);
  const sides = new Map(), clicks = new Map();
  return {
    ctx, volume, playing: new Set(),
    side(pan) {
      if (!sides.has(pan)) {
        const p = ctx.createStereoPanner();
        p.pan.value = pan;
        p.connect(volume);
        sides.set(pan, p);
      }
      return sides.get(pan);
    },
    click(pitch) {
      const key = Math.round(pitch);
      if (!clicks.has(key)) {
        const n = Math.round(ctx.sampleRate * 0.045), buffer = ctx.createBuffer(1, n, ctx.sampleRate), wave = buffer.getChannelData(0);
        for (let i = 0; i < n; i++) {
          const s = i / ctx.sampleRate;
          wave[i] = Math.cos(2 * Math.PI * key * s) * Math.exp(-s * 110) * Math.min(1, (n - i) / (n / 4));
        }
        clicks.set(key, buffer);
      }
      return clicks.get(key);
    },
  };
}

// strike has one click sound at a moment of the context.
function strike(d, at, sound, gain) {
  const source = d.ctx.createBufferSource(), loud = d.ctx.createGain();
  source.buffer = d.click(sound.pitch);
  loud.gain.value = sound.gain * gain;
  source.connect(loud).connect(d.side(sound.pan));
  source.start(at);
  d.playing.add(source);
  source.onended = () => { d.playing.delete(source); loud.disconnect(); };
}

// schedule has everything from one moment of the piece to another sound, the
// first of them at a moment of the context.
function schedule(d, from, to, at, rate) {
  const {notes, bars} = state.piece;
  for (let i = firstAt(notes, from, n => n.t); i < notes.length && notes[i].t < to; i++) {
    const n = notes[i];
    if (!heard(n.voice)) continue;
    const sound = soundOf(n.voice, n.voice.p === state.part.player), when = at + (n.t - from) / rate;
    strike(d, when, sound, 1);
    for (let k = 1; k * ROLL < n.lasts / rate - ROLL / 2; k++) strike(d, when + k * ROLL, sound, 0.5);
  }
  if (!state.beats) return;
  for (let i = Math.max(0, firstAt(bars, from, b => b.end)); i < bars.length && bars[i].start < to; i++) {
    bars[i].beats.forEach((t, k) => {
      if (t >= from && t < to) strike(d, at + (t - from) / rate, tick, k ? 0.6 : 1);
    });
  }
}
const tick = {pitch: 2600, pan: 0, gain: 0.16};

// countIn is how long before a place a bar is counted, and where its counts are.
function countIn(at) {
  const b = barAt(at), length = b.end - b.start, times = b.beats.length < 3 ? 2 : 1;
  const out = [];
  for (let k = 0; k < times; k++) b.beats.forEach(t => out.push(t - b.start + k * length));
  return {length: length * times, beats: out};
}

// The transport says how moments of the context and of the piece go together.
let audio, run;
function play() {
  if (!state.piece.bars.length) return;
  if (!audio) audio = desk(new AudioContext({latencyHint: 'interactive'}));
  audio.ctx.resume();
  if (state.at >= state.piece.total - 0.01) state.at = state.loop ? state.loop.start : 0;
  if (state.loop && (state.at < state.loop.start || state.at >= state.loop.end)) state.at = state.loop.start;
  begin(state.countIn && !state.once);
  state.on = true;
  root.classList.add('on');
  awake();
  show();
  say('Playing from ' + placeWords(state.at) + (run.lead ? ', after ' + run.counts + ' counts' : '') + '.');
}

// begin anchors the piece to the context's clock and has the count-in sound.
function begin(counted) {
  const soon = audio.ctx.currentTime + 0.08;
  const lead = counted ? countIn(state.at) : {length: 0, beats: []};
  lead.beats.forEach((t, k) => strike(audio, soon + t / state.rate, tick, k ? 1.4 : 2.2));
  run = {zero: soon + lead.length / state.rate, from: state.at, done: 0, lead: lead.length, counts: lead.beats.length};
  ahead();
}

// place is where the piece is when it has been played so long: in a loop it
// comes round.
function place(u) {
  const t = run.from + u, loop = state.loop;
  if (!loop || state.once || t < loop.end || run.from >= loop.end) return t;
  return loop.start + (t - loop.start) % (loop.end - loop.start);
}

// ahead schedules what sounds soon. While nobody looks, browsers let it be called
// seldom, and it looks further.
function ahead() {
  clearTimeout(run.timer);
  const now = audio.ctx.currentTime;
  const until = (now + (document.hidden ? 2.5 : AHEAD) - run.zero) * state.rate;
  while (run.done < until) {
    const t = place(run.done), loop = state.loop;
    const most = (state.once || (loop && t < loop.end ? loop.end : state.piece.total)) - t;
    if (most <= 1e-6) break;
    const length = Math.min(until - run.done, most);
    schedule(audio, t, t + length, run.zero + run.done / state.rate, state.rate);
    run.done += length;
  }
  run.timer = setTimeout(ahead, EVERY);
}

function quiet() {
  clearTimeout(run.timer);
  audio.playing.forEach(s => { try { s.stop(); } catch { /* it has not begun */ } });
  audio.playing.clear();
}

function stop() {
  if (!state.on) return;
  quiet();
  state.on = false;
  state.once = false;
  root.classList.remove('on');
  awake();
  show();
  say('Stopped at ' + placeWords(state.at) + '.');
}

// again takes over what has been changed while it plays.
function again() {
  if (!state.on) return;
  state.at = Math.max(0, now());
  quiet();
  begin(false);
}

// now is the place that is heard now; before the first stroke, where it begins.
function now() {
  const u = (audio.ctx.currentTime - (audio.ctx.outputLatency || 0) - run.zero) * state.rate;
  return u < 0 ? run.from : place(u);
}

let lock;
async function awake() {
  try {
    if (state.on && navigator.wakeLock) lock = await navigator.wakeLock.request('screen');
    else if (lock) { await lock.release(); lock = undefined; }
  } catch { /* the screen may not be kept awake: nothing else depends on it */ }
}

// ---- the page ----

const sections = data.parts.map(p => {
  const section = document.getElementById(p.section);
  const boxes = section.querySelectorAll('.screen');
  const views = p.screens.map((sc, i) => {
    const box = boxes[i], lines = [...box.querySelectorAll('.line')];
    return {box, spots: sc.lines.map((bars, n) => ({svg: lines[n], bars, top: 0, share: 1}))};
  });
  const pictures = [...section.querySelectorAll('figure > svg')];
  if (p.paper) views.push({paper: true, box: section, spots: p.paper.map((bars, n) => {
    const svg = pictures[p.pages[n][0]], high = svg.viewBox.baseVal.height;
    return {svg, bars, top: p.pages[n][1] / high, share: p.pages[n][2] / high};
  })});
  views.forEach(v => { v.of = new Map(); v.spots.forEach((s, n) => s.bars.forEach(b => { for (let bar = b[0]; bar <= b[1]; bar++) v.of.set(bar, [n, b]); })); });
  return {section, views};
});
const shown = () => sections[data.parts.indexOf(state.part)];

// view is the layout that is on the screen.
let view;
function findView() {
  const {views} = shown();
  const printed = root.classList.contains('paper');
  view = views.find(v => !!v.paper === printed && (printed || v.box.offsetParent)) || views[0];
  forget();
}

// asPrinted shows the page as it is printed; where that is not on it, whoever shows
// the page is asked for one that has it.
function asPrinted(e) {
  if (e.target.checked && !shown().views.some(v => v.paper)) {
    e.target.checked = false;
    return dispatchEvent(new Event('printed'));
  }
  root.classList.toggle('paper', e.target.checked);
  findView();
  follow(state.at, false);
}

const head = make('div', {class: 'head', 'aria-hidden': 'true'});
let spot;        // the line that the head is on, and where that is
function forget() { spot = undefined; }

// find is where a moment of the piece stands on the page.
function find(t) {
  const b = barAt(t);
  const found = b && view.of.get(b.bar);
  if (!found) return undefined;
  let k = b.beats.length - 1;
  while (k > 0 && b.beats[k] > t) k--;
  const end = k + 1 < b.beats.length ? b.beats[k + 1] : b.end, next = k + 1 < b.shares.length ? b.shares[k + 1] : 1;
  const share = b.shares[k] + (next - b.shares[k]) * Math.max(0, Math.min(1, (t - b.beats[k]) / Math.max(1e-6, end - b.beats[k])));
  const [n, box] = found, bars = box[1] - box[0] + 1;
  return {n, bar: b, box, x: box[4] + box[5] * (b.bar - box[0] + share) / bars};
}

// measureSpot asks the page where a line is, which it does once for each line.
function measureSpot(n) {
  const s = view.spots[n], r = s.svg.getBoundingClientRect();
  const k = r.width / s.svg.viewBox.baseVal.width;
  spot = {n, k, left: r.left + scrollX, top: r.top + scrollY + s.top * r.height, height: s.share * r.height};
}

let shownBar = -1;
function follow(t, turn) {
  const f = find(t);
  if (!f) { head.hidden = true; return; }
  if (!spot || spot.n !== f.n) {
    measureSpot(f.n);
    if (turn) keepInView();
    head.style.height = spot.height + 'px';
  }
  const x = calm.matches ? f.box[2] + f.box[3] * (f.bar.bar - f.box[0]) / (f.box[1] - f.box[0] + 1) : f.x;
  head.style.width = calm.matches ? f.box[3] / (f.box[1] - f.box[0] + 1) * spot.k + 'px' : '';
  head.style.transform = `translate(${spot.left + x * spot.k}px, ${spot.top}px)`;
  head.hidden = false;
  if (shownBar !== f.bar.n) {
    shownBar = f.bar.n;
    where.textContent = 'bar ' + f.bar.bar + (f.bar.pass > 1 ? ', time ' + f.bar.pass : '');
  }
}

// keepInView turns the page: a line that is not all to be seen comes to the top,
// and so does one low down, so that what comes next is seen as well.
function keepInView() {
  const over = bar.getBoundingClientRect().bottom, top = spot.top - scrollY;
  const under = change.hidden ? innerHeight : change.getBoundingClientRect().top;
  if (top >= over && top + spot.height * 1.6 <= under) return;
  scrollTo({top: spot.top - over - 12, behavior: calm.matches ? 'auto' : 'smooth'});
}

function frame() {
  if (state.on) {
    const t = now();
    const end = state.once || (state.loop ? Infinity : state.piece.total);
    if (t >= end) {
      const from = state.once ? barAt(end - 0.001).start : end;
      stop();
      state.at = from;
      follow(state.at, false);
    } else {
      state.at = t;
      follow(t, true);
    }
  }
  requestAnimationFrame(frame);
}

// ---- words ----

const status = make('p', {role: 'status', class: 'status'});
const where = make('output', {class: 'where', 'aria-label': 'Place'}, 'bar 1');
function say(text) { status.textContent = text; }

function placeWords(t) {
  const b = barAt(t);
  if (!b) return 'the beginning';
  let k = firstAt(b.beats, t + 1e-3, x => x);
  return 'bar ' + b.bar + (k > 1 ? ', count ' + k : '') + (b.pass > 1 ? ', time ' + b.pass : '');
}
const seconds = s => s < 0.95 ? s.toFixed(2) + ' s' : s.toFixed(1) + ' s';

// go is going to a place of the piece, and seeing it.
function go(t, quietly) {
  state.at = Math.max(0, Math.min(t, state.piece.total));
  if (state.on) { quiet(); begin(false); }
  forget();
  follow(state.at, true);
  if (!quietly) say(placeWords(state.at) + marks());
}
function marks() {
  const b = barAt(state.at), m = b && state.piece.marks[b.bar];
  return m ? ', mark ' + m : '';
}

// ---- changes, at the tempo that is chosen ----

// bandOf is how a change stands at a tempo: 0 easy, 1 tight, 2 at the edge, 3 no
// time. The window grows and shrinks with the tempo; what hands need does not.
function bandOf(c, rate) {
  const win = c.win / rate + 1e-6;
  return win < c.need[0] ? 3 : win < c.need[1] ? 2 : win < c.need[2] ? 1 : 0;
}
const bandWords = ['easy', 'tight', 'at the edge', 'no time'];

// repaint shows which changes stand otherwise than at the written tempo.
function repaint() {
  const {section} = shown();
  const now = {};
  state.part.changes.forEach((c, i) => {
    const band = bandOf(c, state.rate), before = c.band === undefined ? bandOf(c, 1) : c.band;
    if (band > 0) (now[band] = now[band] || []).push(c.at);
    if (band === before) return;
    c.band = band;
    if (!c.drawn) c.drawn = [...section.querySelectorAll(`[data-change="${i}"]`)];
    c.drawn.forEach(e => { e.classList.remove('band0', 'band1', 'band2', 'band3'); if (band !== bandOf(c, 1)) e.classList.add('band' + band); });
  });
  const parts = [1, 2, 3].filter(k => now[k]).map(k => bandWords[k] + ': ' + (now[k].length > 6 ? now[k].slice(0, 6).join(', ') + ' and ' + (now[k].length - 6) + ' more' : now[k].join(', ')));
  bands.textContent = parts.length ? 'Changes that are ' + parts.join('; ') + '.' : 'Every change is easy.';
}

// changeTo goes to the next change or the one before, and says it.
function changeTo(way) {
  const list = state.part.changes.map((c, i) => [c.t / TENTHS, i]).sort((a, b) => a[0] - b[0]);
  if (!list.length) return say('There is no change.');
  let k = list.findIndex(([, i]) => i === state.change);
  if (k >= 0 && Math.abs(list[k][0] - state.at) > 30) k = -1;
  if (k < 0) k = way > 0 ? firstAt(list, state.at + 1e-3, x => x[0]) - 1 : firstAt(list, state.at - 1e-3, x => x[0]);
  k = (k + way + list.length) % list.length;
  const i = list[k][1], c = state.part.changes[i];
  document.querySelectorAll('.chosen').forEach(e => e.classList.remove('chosen'));
  shown().section.querySelectorAll(`[data-change="${i}"]`).forEach(e => e.classList.add('chosen'));
  state.change = i;
  state.step = -1;
  go(Math.max(0, list[k][0] - c.win), true);
  const text = `${k + 1} of ${list.length}. To ${c.at}, ${c.h}: ${c.w}. There are ${seconds(c.win / state.rate)}, easy is ${seconds(c.need[2])}: ${bandWords[bandOf(c, state.rate)]}.`;
  change.hidden = false;
  change.replaceChildren(make('p', {}, text), make('ol', {}, ...c.m.map(m => make('li', {}, m))),
    ...(c.m.length ? [button('Its motions one by one', motion), ' '] : []), button('Close', () => { change.hidden = true; playButton.focus(); }));
  say(text);
}

// motion says the motions of the change one by one.
function motion() {
  const c = state.part.changes[state.change];
  if (!c) return changeTo(1);
  if (!c.m.length) return say('It has no motions of its own.');
  state.step = (state.step + 1) % c.m.length;
  [...change.querySelectorAll('li')].forEach((li, k) => li.classList.toggle('now', k === state.step));
  say(`${state.step + 1} of ${c.m.length}: ${c.m[state.step]}`);
}

// ---- what can be set ----

function setRate(percent) {
  const rate = Math.max(50, Math.min(120, Math.round(percent))) / 100;
  if (state.on) { state.at = Math.max(0, now()); quiet(); }
  state.rate = rate;
  if (state.on) begin(false);
  tempo.value = rate * 100;
  tempo.setAttribute('aria-valuetext', Math.round(rate * 100) + ' % of the written tempo');
  rateOut.textContent = Math.round(rate * 100) + ' %';
  const over = state.part.never || state.part.cannot && rate > state.part.cannot + 1e-9 ? 'Nobody can play this at this tempo. ' : state.part.edge && rate > state.part.edge + 1e-9 ? 'This is above the ceiling. ' : '';
  ceiling.textContent = over + state.part.ceiling;
  root.classList.toggle('over', !!over);
  repaint();
}

function setHands(h) {
  state.hands = h;
  root.classList.toggle('only-R', h === 'R');
  root.classList.toggle('only-L', h === 'L');
  handBoxes.forEach(([v, e]) => { e.checked = v === h; });
  again();
  say(h === 'R' ? 'Only the right hand.' : h === 'L' ? 'Only the left hand.' : 'Both hands.');
}

function setLoop(from, to) {
  const {bars} = state.piece, k = barAt(state.at).n;
  let a = -1;
  for (let d = 0; d < bars.length && a < 0; d++) { // the time round that is nearest
    if (bars[k - d] && bars[k - d].bar === from) a = k - d; else if (bars[k + d] && bars[k + d].bar === from) a = k + d;
  }
  let b = a;
  while (b >= 0 && b < bars.length && bars[b].bar !== to) b++;
  if (a < 0 || b >= bars.length) return say('Bars ' + from + ' to ' + to + ' are not played one after the other.');
  if (state.on) state.at = Math.max(0, now());
  state.loop = {start: bars[a].start, end: bars[b].end, from, to};
  if (state.on) quiet();
  if (state.at < state.loop.start || state.at >= state.loop.end) state.at = state.loop.start;
  if (state.on) begin(false);
  forget();
  follow(state.at, true);
  show();
  say('Round and round bars ' + from + ' to ' + to + '.');
}

function clearLoop() {
  if (!state.loop) return;
  if (state.on) state.at = Math.max(0, now());
  state.loop = null;
  if (state.on) { quiet(); begin(false); }
  show();
  say('On to the end.');
}

// byBar goes bars on or back.
function byBar(way) {
  const {bars} = state.piece, b = barAt(state.at);
  if (!b) return;
  const back = way < 0 && state.at - b.start > 0.4 ? 0 : way;
  go(bars[Math.max(0, Math.min(bars.length - 1, b.n + back))].start);
}

// turn is half a page on or back, for a tap or a pedal.
function turn(way) {
  const room = innerHeight - bar.getBoundingClientRect().bottom;
  scrollBy({top: way * room / 2, behavior: calm.matches ? 'auto' : 'smooth'});
}

// ---- the controls ----

const check = (text, on, set, key) => make('label', {}, make('input', {type: 'checkbox', checked: on, onchange: e => { set(e.target.checked); again(); }, 'aria-keyshortcuts': key}), ' ' + text);
const button = (text, press, attributes) => make('button', {type: 'button', onclick: press, ...attributes}, text);

const playButton = button('Play', () => state.on ? stop() : play(), {class: 'main', 'aria-keyshortcuts': 'Space'});
const tempo = make('input', {type: 'range', id: 'tempo', min: 50, max: 120, step: 1, value: 100, oninput: e => setRate(+e.target.value)});
const rateOut = make('output', {for: 'tempo'}, '100 %');
const ceiling = make('p', {class: 'ceiling'});
const bands = make('p', {class: 'bands'});
const ceilingMark = make('span', {class: 'mark', 'aria-hidden': 'true'});
const change = make('section', {class: 'change', 'aria-label': 'Change', tabindex: 0, hidden: true});
const fromBox = make('input', {type: 'number', id: 'loop-from', inputmode: 'numeric'}), toBox = make('input', {type: 'number', id: 'loop-to', inputmode: 'numeric'});
const toBar = make('input', {type: 'number', id: 'to-bar', inputmode: 'numeric', onchange: e => {
  const b = state.piece.bars.find(x => x.bar === +e.target.value);
  if (b) go(b.start); else say('There is no bar ' + e.target.value + '.');
}});
const loopOff = button('Loop off', clearLoop, {disabled: true});
const handBoxes = [['B', 'both'], ['R', 'right'], ['L', 'left']].map(([v, text]) => [v, make('input', {type: 'radio', name: 'hands', checked: v === 'B', onchange: () => setHands(v)}), text]);
const keyWords = [['Space', 'play and stop'], ['← →', 'a bar back, on'], ['+ −', 'faster, slower'], ['n p', 'next change, the one before'], ['m', 'its motions one by one'],
  ['r l b', 'right hand, left hand, both'], ['o', 'the others'], ['[ ]', 'the loop begins here, ends here'], ['x', 'no loop'], ['Page Up, Page Down', 'half a page back, on']];
const more = make('details', {class: 'more'},
  make('summary', {}, 'Loop, hands, sound and keys'),
  make('div', {class: 'groups'},
    make('fieldset', {}, make('legend', {}, 'Loop'),
      make('label', {for: 'loop-from'}, 'bar '), fromBox, make('label', {for: 'loop-to'}, ' to '), toBox, ' ',
      button('Loop', () => setLoop(+fromBox.value, +(toBox.value || fromBox.value))), ' ', loopOff),
    make('fieldset', {}, make('legend', {}, 'Hands that click'), ...handBoxes.map(([, e, text]) => make('label', {}, e, ' ' + text))),
    make('fieldset', {}, make('legend', {}, 'What clicks'),
      check('my part', true, v => { state.mine = v; }), check('the others', false, v => { state.others = v; }), check('the counts', true, v => { state.beats = v; }), check('a bar before', true, v => { state.countIn = v; })),
    make('fieldset', {}, make('legend', {}, 'Sound'),
      make('label', {for: 'volume'}, 'how loud '), make('input', {type: 'range', id: 'volume', min: 0, max: 100, value: 35, oninput: e => { state.volume = e.target.value / 100; if (audio) audio.volume.gain.value = state.volume; }}),
      make('p', {}, data.care[1])),
    make('fieldset', {}, make('legend', {}, 'Page'),
      make('label', {for: 'to-bar'}, 'go to bar '), toBar,
      make('label', {}, make('input', {type: 'checkbox', id: 'printed', onchange: asPrinted}), ' as it is printed')),
    make('fieldset', {}, make('legend', {}, 'Keys'),
      make('label', {}, make('input', {type: 'checkbox', checked: true, onchange: e => { state.keys = e.target.checked; }}), ' keys alone do what stands here'),
      make('dl', {}, ...keyWords.flatMap(([k, what]) => [make('dt', {}, k), make('dd', {}, what)])))));
const who = make('select', {id: 'who', onchange: e => choose(data.parts[e.target.value])}, ...data.parts.map((p, i) =>
  make('option', {value: i}, pieces[p.piece].players[p.player] + (pieces.length > 1 ? ', ' + pieces[p.piece].title : ''))));
const bar = make('section', {class: 'bar', 'aria-label': 'Play'},
  make('div', {class: 'row'}, playButton, where,
    ...(data.parts.length > 1 ? [make('label', {for: 'who', class: 'unseen'}, 'Whose part'), who] : []),
    make('span', {class: 'tempo'}, make('label', {for: 'tempo'}, 'tempo'), make('span', {class: 'slide'}, tempo, ceilingMark), rateOut),
    make('span', {class: 'pair', role: 'group', 'aria-label': 'Changes'}, 'change', button('before', () => changeTo(-1), {'aria-label': 'Change before'}), button('next', () => changeTo(1), {'aria-label': 'next change'})),
    make('span', {class: 'pair', role: 'group', 'aria-label': 'Pages'}, '½ page', button('back', () => turn(-1), {'aria-label': 'half a page back'}), button('on', () => turn(1), {'aria-label': 'half a page on'}))),
  status);
const told = make('section', {class: 'told', 'aria-label': 'How it is played'}, ceiling, bands, make('p', {}, data.care[0]), more);

function show() {
  playButton.textContent = state.on ? 'Stop' : 'Play';
  loopOff.disabled = !state.loop;
  if (state.loop) { fromBox.value = state.loop.from; toBox.value = state.loop.to; }
}

function choose(part) {
  if (state.on) stop();
  Object.assign(state, {part, piece: pieces[part.piece], at: 0, loop: null, change: -1});
  const c = part.edge;
  ceilingMark.hidden = !(c >= 0.5 && c <= 1.2);
  ceilingMark.style.left = (c - 0.5) / 0.7 * 100 + '%';
  findView();
  setRate(state.rate * 100);
  shownBar = -1;
  follow(0, false);
  show();
}

// A key alone does something only where nothing is being written, and where it
// does not press what has the focus.
const pressed = {
  ' ': () => state.on ? stop() : play(), ArrowLeft: () => byBar(-1), ArrowRight: () => byBar(1), Home: () => go(0),
  '+': () => setRate(state.rate * 100 + 5), '=': () => setRate(state.rate * 100 + 5), '-': () => setRate(state.rate * 100 - 5),
  n: () => changeTo(1), p: () => changeTo(-1), m: motion, r: () => setHands('R'), l: () => setHands('L'), b: () => setHands('B'),
  o: () => { const box = more.querySelectorAll('input[type=checkbox]')[1]; box.click(); say(box.checked ? 'With the others.' : 'Without the others.'); },
  '[': () => { const b = barAt(state.at).bar; setLoop(b, state.loop && state.loop.to >= b ? state.loop.to : b); },
  ']': () => { const b = barAt(state.at).bar; setLoop(state.loop && state.loop.from <= b ? state.loop.from : b, b); },
  x: clearLoop, PageDown: () => turn(1), PageUp: () => turn(-1),
};
addEventListener('keydown', e => {
  if (!state.keys || e.ctrlKey || e.altKey || e.metaKey) return;
  const at = e.target, key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
  if (at.matches('input:not([type=checkbox]):not([type=radio]), select, textarea')) return;
  if (key === ' ' && at.matches('button, summary, a, input')) return;
  if (/^Arrow|^Home$/.test(key) && at.matches('input')) return;
  if (!pressed[key]) return;
  e.preventDefault();
  pressed[key]();
});

// A click on a bar has it heard; with Shift it goes round, and a second one
// says where the loop ends.
function pick(e) {
  const svg = e.target.closest('svg');
  const r = svg && svg.getBoundingClientRect();
  if (!r) return;
  const y = (e.clientY - r.top) / r.height, x = (e.clientX - r.left) / r.width * svg.viewBox.baseVal.width;
  const found = view.spots.find(s => s.svg === svg && y >= s.top && y <= s.top + s.share);
  const box = found && found.bars.find(b => x >= b[2] && x < b[2] + b[3]);
  if (!box) return;
  const n = box[0] + Math.min(box[1] - box[0], Math.floor((x - box[2]) / box[3] * (box[1] - box[0] + 1)));
  if (e.shiftKey) {
    getSelection().removeAllRanges();
    return setLoop(state.loop && state.loop.from <= n ? state.loop.from : n, n);
  }
  const b = state.piece.bars.find(p => p.bar === n);
  if (!b) return say('Bar ' + n + ' is not played.');
  if (state.on) return go(b.start);
  state.at = b.start;
  state.once = b.end;
  play();
}

root.classList.add('plays');
document.querySelector('main').before(bar, told);
document.body.append(change, head);
sections.forEach(s => s.section.addEventListener('click', e => {
  if (shown() === s) pick(e);
}));
let size;
addEventListener('resize', () => { cancelAnimationFrame(size); size = requestAnimationFrame(() => { findView(); follow(state.at, false); }); });
more.addEventListener('toggle', () => { forget(); follow(state.at, false); });
document.addEventListener('toggle', () => { forget(); }, true);
document.addEventListener('visibilitychange', () => { if (state.on) { ahead(); awake(); } });
document.fonts.ready.then(() => { forget(); follow(state.at, false); });
choose(data.parts[0]);
requestAnimationFrame(frame);

// For whoever wants the clicks as a file: everything that is chosen, at the
// tempo that is chosen, rendered as fast as it can be.
window.handful = {
  async render(rate = 44100) {
    const ctx = new OfflineAudioContext(2, Math.ceil((state.piece.total / state.rate + 0.5) * rate), rate);
    schedule(desk(ctx), 0, state.piece.total + 1, 0, state.rate);
    return ctx.startRendering();
  },
};
})();
