// accessible.mjs CHROMIUM PAGE.html: with axe-core and playwright-core in
// $HANDFUL_NODE_MODULES, opens the page by light and by dark, on a wide screen
// and on a phone, with everything in words unfolded and a change chosen, and prints what the accessibility rules find,
// what the page asks the network for, and what does not fit its width.
import fs from 'node:fs';
import { createRequire } from 'node:module';

const from = createRequire(process.env.HANDFUL_NODE_MODULES + '/');
const { chromium } = from('./playwright-core');
const rules = fs.readFileSync(from.resolve('./axe-core/axe.min.js'), 'utf8');
const browser = await chromium.launch({ executablePath: process.argv[2], args: ['--no-sandbox', '--disable-gpu'] });
const out = [];
for (const [colorScheme, width] of [['light', 1280], ['dark', 360]]) {
  const page = await browser.newPage({ colorScheme, viewport: { width, height: 800 } });
  page.on('request', r => { if (!/^(file|data):/.test(r.url())) out.push(`asks for ${r.url()}`); });
  page.on('console', m => out.push(`says ${m.text()}`));
  await page.goto('file://' + process.argv[3]);
  await page.evaluate(rules);
  await page.keyboard.press('n');
  out.push(...await page.evaluate(async () => {
    document.querySelectorAll('details').forEach(d => { d.open = true; });
    const found = (await axe.run()).violations.map(v => `${v.id}: ${v.help} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 160)}`);
    if (document.documentElement.scrollWidth > innerWidth) found.push('the page is wider than the window');
    for (const f of document.fonts) if (f.status !== 'loaded') found.push(`font ${f.family} ${f.weight}: ${f.status}`);
    return found;
  }));
}
await browser.close();
console.log(JSON.stringify(out));
