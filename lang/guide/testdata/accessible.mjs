// accessible.mjs CHROMIUM FOLDER PAGE…: with axe-core and playwright-core in
// $HANDFUL_NODE_MODULES, opens the pages by light at a desk and by dark on a
// phone, and prints what the accessibility rules find, what a page asks the
// network for, what it complains of, and what does not fit its width. Without
// scripts a page has to have its text all the same.
import fs from 'node:fs';
import { createRequire } from 'node:module';

const from = createRequire(process.env.HANDFUL_NODE_MODULES + '/');
const { chromium } = from('./playwright-core');
const rules = fs.readFileSync(from.resolve('./axe-core/axe.min.js'), 'utf8');
const [, , executablePath, folder, ...names] = process.argv;
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });
const out = [];
for (const [colorScheme, width] of [['light', 1280], ['dark', 360]]) {
  const page = await browser.newPage({ colorScheme, viewport: { width, height: 800 } });
  let name;
  page.on('request', r => { if (!/^(file|data):/.test(r.url())) out.push(`${name} asks for ${r.url()}`); });
  page.on('console', m => out.push(`${name} says ${m.text()}`));
  page.on('pageerror', e => out.push(`${name} fails: ${e.message}`));
  for (name of names) {
    await page.goto(`file://${folder}/${name}`);
    await page.evaluate(rules);
    out.push(...await page.evaluate(async ([name, how]) => {
      const found = (await axe.run()).violations.map(v => `${name} ${how}: ${v.id}: ${v.help} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 160)}`);
      if (document.documentElement.scrollWidth > innerWidth) found.push(`${name} ${how}: the page is wider than the window`);
      return found;
    }, [name, `${colorScheme} ${width}`]));
  }
  await page.close();
}
const bare = await (await browser.newContext({ javaScriptEnabled: false })).newPage();
await bare.goto(`file://${folder}/search.html`);
if (await bare.getByRole('searchbox').isVisible()) out.push('without scripts there is a field that does nothing');
if (!await bare.getByRole('link', { name: 'short-change' }).isVisible()) out.push('without scripts there is no index');
await browser.close();
console.log(JSON.stringify(out));
