// playing.mjs CHROMIUM PAGE.html: uses a page that plays as somebody at a keyboard
// would, on screens of several widths, and prints what was found: when the clicks
// of each hand begin in what is rendered, and what is to be seen.
import { createRequire } from 'node:module';

const { chromium } = createRequire(process.env.HANDFUL_NODE_MODULES + '/')('./playwright-core');
const browser = await chromium.launch({ executablePath: process.argv[2], args: ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required'] });
const out = { wrong: [], onsets: {} }, record = process.env.HANDFUL_RECORD, opened = [];
async function open(options) {
  const page = await browser.newPage(options);
  opened.push(page);
  if (record) await page.context().tracing.start({ screenshots: true, snapshots: true });
  page.on('pageerror', e => out.wrong.push(e.message));
  page.on('console', m => out.wrong.push(m.text()));
  await page.goto('file://' + process.argv[3]);
  return page;
}

// When something begins to sound after at least 4 ms of silence.
const begins = () => window.handful.render(22050).then(buffer => {
  const a = buffer.getChannelData(0), b = buffer.getChannelData(1), found = [], gap = 0.004 * buffer.sampleRate;
  for (let i = 0, silent = gap; i < a.length; i++) {
    if (Math.abs(a[i]) + Math.abs(b[i]) < 0.004) { silent++; continue; }
    if (silent >= gap) found.push(i / buffer.sampleRate);
    silent = 0;
  }
  return found;
});
{
  const page = await open({ viewport: { width: 1280, height: 800 } });
  await page.locator('.more > summary').press('Enter');
  await page.getByLabel('the counts').press('Space');
  for (const hand of ['r', 'l']) {
    await page.keyboard.press(hand);
    out.onsets[hand.toUpperCase()] = await page.evaluate(begins);
  }
  await page.getByRole('slider', { name: 'tempo' }).press('Home');
  out.slow = await page.evaluate(begins);
}
// Letters, in pixels of the screen.
const letters = () => [...document.querySelectorAll('.line text')].filter(t => t.closest('.screen').offsetParent)
  .map(t => t.getAttribute('font-size') * t.closest('svg').getBoundingClientRect().width / t.closest('svg').viewBox.baseVal.width * devicePixelRatio);
const least = list => Math.min(...list);
{
  const phone = await open({ viewport: { width: 360, height: 740 } });
  out.phone = least(await phone.evaluate(letters));
  out.wider = await phone.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  const wide = await open({ viewport: { width: 1280, height: 800 } }), zoomed = await open({ viewport: { width: 640, height: 400 }, deviceScaleFactor: 2 });
  out.zoom = least(await zoomed.evaluate(letters)) / least(await wide.evaluate(letters));
}
// By keyboard alone, and with little motion.
{
  const page = await open({ viewport: { width: 1000, height: 700 }, reducedMotion: 'reduce' });
  const where = () => page.locator('.where').textContent(), said = () => page.locator('.status').textContent();
  out.keys = [];
  await page.keyboard.press('ArrowRight');
  out.keys.push(await said());
  await page.keyboard.press('[');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press(']');
  out.keys.push(await said());
  await page.keyboard.press('n');
  out.change = await page.locator('.change').innerText();
  await page.keyboard.press('m');
  out.keys.push((await said()).slice(0, 4));
  await page.keyboard.press('x');
  out.keys.push(await said());
  await page.keyboard.press('Home');
  await page.keyboard.press('Space');
  await page.waitForFunction(() => document.querySelector('.where').textContent !== 'bar 1');
  out.playing = await page.getByRole('button', { name: 'Stop' }).count();
  out.head = await page.locator('.head').evaluate(e => e.getBoundingClientRect().width);
  await page.keyboard.press('Space');
  out.keys.push((await said()).replace(/[0-9]+/g, 'N').replace(/ at .*/, ''));
  for (let k = 0; k < 10; k++) await page.keyboard.press('-');
  out.slowest = await page.locator('output[for=tempo]').textContent();
  const names = new Set();
  for (let k = 0; k < 60; k++) {
    await page.keyboard.press('Tab');
    names.add(await page.evaluate(() => document.activeElement.id || document.activeElement.textContent.trim()));
  }
  out.reached = [...names];
}
if (record) for (const [n, page] of opened.entries()) await page.context().tracing.stop({ path: `${record}/played-${n + 1}.zip` });
await browser.close();
console.log(JSON.stringify(out));
