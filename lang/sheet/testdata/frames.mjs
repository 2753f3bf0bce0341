// frames.mjs CHROMIUM PAGE.html SECONDS: has a page play for so long, going on by bars as
// somebody does who practises, and prints from Chromium's own record how much processor time
// the script took in each frame and the page in its longest task, in milliseconds, and how
// often a frame had the page laid out anew. (By the clock a task is as long as others let it be.)
import { createRequire } from 'node:module';

const { chromium } = createRequire(process.env.HANDFUL_NODE_MODULES + '/')('./playwright-core');
const browser = await chromium.launch({ executablePath: process.argv[2], args: ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required'] });
const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
const wrong = [];
page.on('pageerror', e => wrong.push(e.message));
const client = await page.context().newCDPSession(page);
const events = [];
client.on('Tracing.dataCollected', e => events.push(...e.value));
await page.goto('file://' + process.argv[3]);
await page.waitForFunction(() => document.querySelector('.bar'));
await page.keyboard.press('Space'); // the first context of a browser is the browser's own business
await page.waitForTimeout(1500);
await page.keyboard.press('Space');
await client.send('Tracing.start', { transferMode: 'ReportEvents', traceConfig: { includedCategories: ['devtools.timeline', 'toplevel', 'disabled-by-default-devtools.timeline'] } });
await page.keyboard.press('Home');
await page.keyboard.press('Space');
for (let k = 0; k < +process.argv[4]; k++) {
  await page.waitForTimeout(1000);
  if (k % 3 === 2) for (let n = 0; n < 8; n++) await page.keyboard.press('ArrowRight');
}
await page.keyboard.press('Space');
const done = new Promise(r => client.once('Tracing.tracingComplete', r));
await client.send('Tracing.end');
await done;
await browser.close();
const main = events.find(e => e.name === 'thread_name' && e.args.name === 'CrRendererMain' && events.some(x => x.pid === e.pid && x.tid === e.tid && x.name === 'FireAnimationFrame'));
const mine = events.filter(e => e.pid === main.pid && e.tid === main.tid && e.ph === 'X');
const frames = mine.filter(e => e.name === 'FireAnimationFrame').map(e => (e.tdur ?? e.dur) / 1000).sort((a, b) => a - b);
const at = q => frames[Math.min(frames.length - 1, Math.floor(q * frames.length))];
const within = (x, e) => x.ts >= e.ts && x.ts + x.dur <= e.ts + e.dur;
const fired = mine.filter(e => e.name === 'FireAnimationFrame');
const forced = mine.filter(e => e.name === 'Layout' && fired.some(f => within(e, f))).length;
const tasks = mine.filter(e => /RunTask$/.test(e.name)).map(e => (e.tdur ?? e.dur) / 1000).sort((a, b) => b - a);
console.log(JSON.stringify({ wrong, frames: frames.length, p50: at(0.5), p95: at(0.95), forced, longest: tasks[0], over50: tasks.filter(t => t > 50).length }));
