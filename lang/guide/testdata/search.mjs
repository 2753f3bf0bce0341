// search.mjs CHROMIUM FOLDER: looks words up as somebody at a keyboard would,
// and prints what is seen then.
import { createRequire } from 'node:module';

const { chromium } = createRequire(process.env.HANDFUL_NODE_MODULES + '/')('./playwright-core');
const browser = await chromium.launch({ executablePath: process.argv[2], args: ['--no-sandbox', '--disable-gpu'] });
const page = await browser.newPage();
await page.goto(`file://${process.argv[3]}/search.html`);
const shown = () => page.locator('#hits li:visible').count();
const out = [String(await shown())];
await page.keyboard.type('short chan');
out.push(await page.locator('#hits li:visible a').first().textContent());
await page.keyboard.type('zzz');
out.push(await page.locator('#count').textContent());
await page.locator('#words').fill('');
out.push(String(await shown()));
await browser.close();
console.log(JSON.stringify(out));
