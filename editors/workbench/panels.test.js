// The panels beside the text, as they stand on the screen.
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const test = require("node:test");
const { sitDown } = require("./desk");

const ferry = fs.readFileSync(path.join(__dirname, "..", "..", "examples", "ferry-landing.handful"), "utf8");
const rows = ferry.split("\n");
const row = (text) => rows.findIndex((l) => l.includes(text)) + 1;

// What is inside the one panel that is shown.
const panel = (desk) => desk.page.frameLocator("iframe.webview.ready").frameLocator("#active-frame");

test("the sheet follows the caret, a click in it moves the caret, and it plays from there", async () => {
  const desk = await sitDown({ files: { "ferry.handful": ferry }, tall: 1100, wide: 1700 });
  try {
    await desk.open("ferry.handful");
    await desk.go(row("player Tam"));
    await desk.command("Handful: Follow the sheet of the player at the caret");
    const sheet = panel(desk);
    await sheet.getByRole("heading", { name: "cue sheet for Tam" }).waitFor();
    await desk.picture("sheet-of-tam");
    await desk.go(row("player Nell") + 10);
    await sheet.getByRole("heading", { name: "cue sheet for Nell" }).waitFor();
    // The page goes where the caret is: the last cue, from D on.
    const where = sheet.locator(".where");
    await desk.go(row("player Tam") - 2);
    await desk.until("the page does not go to the bar of the caret", () => where.innerText(), (t) => t.startsWith("bar 5"));
    // A click in the first line leads to the text of a bar there.
    const before = await desk.caret();
    await sheet.locator('[data-bar="8"]:visible').first().click();
    await desk.until("nothing is heard of the bar", () => where.innerText(), (t) => t === "bar 8");
    await desk.picture("sheet-clicked");
    await desk.toText();
    const after = await desk.until("the caret stays", () => desk.caret(), (c) => c.line !== before.line);
    assert.match(rows[after.line - 1], /snare-drum as written|woodblock with/);
    assert.ok(after.line < row("player Tam") - 8, "the cue before the first mark");
    // What is written is put in its place, and then the page is made anew to the same.
    const body = sheet.locator("body");
    const lines = () => sheet.locator("svg.line").evaluateAll((all) => all.map((e) => e.outerHTML.replace(/ class="[^"]*"/g, "")).join("\n"));
    await desk.go(row("snare-drum       | mf 1 2& 3 4"));
    await desk.page.keyboard.press("End");
    const drawn = await lines();
    await body.evaluate((b) => (b.dataset.same = "yes"));
    await desk.page.keyboard.type(" 4");
    const put = await desk.until("the stroke is not drawn", lines, (l) => l !== drawn);
    assert.strictEqual(await body.getAttribute("data-same"), "yes", "the page is made anew at a letter");
    await desk.until("the page is not made anew afterwards", () => body.getAttribute("data-same"), (same) => same === null);
    assert.strictEqual(await desk.until("nothing is drawn", lines, (l) => l !== ""), put);
    // As it is printed, which is another page, and stays so when the text changes.
    await sheet.getByText("Loop, hands, sound and keys").click();
    await sheet.getByLabel("as it is printed").click(); // which has the page made anew, so it is no check()
    await sheet.locator("section.cues figure:visible").first().waitFor();
    await desk.picture("sheet-printed");
    await desk.toText();
    await desk.page.keyboard.type(" # again");
    await desk.until("the page is not made anew", () => sheet.locator("body").getAttribute("data-from"), (from) => from === null);
    await sheet.locator("section.cues figure:visible").first().waitFor();
    await sheet.getByText("Loop, hands, sound and keys").click();
    await sheet.getByLabel("as it is printed").uncheck();
    await sheet.locator("section.cues figure:visible").first().waitFor({ state: "hidden" });
    await desk.toText();
    // It plays from the caret, and the place goes on.
    await sheet.getByRole("button", { name: "Stop" }).waitFor({ state: "detached" });
    await desk.command("Handful: Listen from here");
    await sheet.getByRole("button", { name: "Stop" }).waitFor();
    const begun = await where.innerText();
    await desk.until("it does not play", () => where.innerText(), (t) => t !== begun);
  } finally {
    await desk.leave();
  }
});

test("things are moved in the set-up by hand and by key, and the text says where they stand", async () => {
  const desk = await sitDown({ files: { "ferry.handful": ferry }, tall: 1100, wide: 1700 });
  try {
    await desk.open("ferry.handful");
    await desk.go(row("player Nell"));
    await desk.command("Handful: Show the set-up of the player at the caret");
    const floor = panel(desk);
    const drum = floor.getByRole("button", { name: /^snare drum, at / });
    await drum.waitFor();
    await desk.picture("setup");
    const was = await drum.getAttribute("aria-label");
    await drum.press("ArrowRight");
    await drum.press("Shift+ArrowRight");
    await drum.press("ArrowDown");
    await desk.until("the text does not follow the keys", () => drum.getAttribute("aria-label"), (l) => l !== was);
    await desk.toText();
    const typed = (await desk.save("ferry.handful")).split("\n");
    const changed = typed.filter((l, n) => l !== rows[n]);
    assert.strictEqual(changed.length, 1);
    const cm = (text) => {
      const [, side = "right", by = "0"] = /\b(right|left) (\d+)/.exec(text) ?? [];
      return side === "left" ? -by : Number(by);
    };
    const old = rows[typed.indexOf(changed[0])];
    assert.match(changed[0], /^ +snare-drum .* at /);
    assert.strictEqual(cm(changed[0]) - cm(old), 11, `${old} became ${changed[0]}`);
    // Dragged to the left.
    const now = await drum.getAttribute("aria-label");
    const box = await drum.locator("circle, rect").first().boundingBox();
    await desk.page.mouse.move(box.x + box.width / 5, box.y + box.height / 2); // where nothing lies above it
    await desk.page.mouse.down();
    await desk.page.mouse.move(box.x + box.width / 5 - 60, box.y + box.height / 2, { steps: 8 });
    await desk.page.mouse.up();
    await desk.until("the text does not follow the hand", () => drum.getAttribute("aria-label"), (l) => l !== now);
    await desk.toText();
    const dragged = (await desk.save("ferry.handful")).split("\n").find((l, n) => l !== typed[n]);
    assert.match(dragged, /^ +snare-drum .* at /);
    assert.ok(cm(dragged) < cm(changed[0]) - 10, `${changed[0]} became ${dragged}`);
    await desk.picture("setup-dragged");
    // Whoever takes hold of a thing has the caret at its line.
    assert.strictEqual((await desk.caret()).line, rows.indexOf(old) + 1);
    await floor.getByLabel("Whose set-up").selectOption("Tam");
    await desk.page.locator(".tab").getByText("Set-up of Tam").waitFor();
    await floor.getByRole("button", { name: /^glockenspiel, at bells/ }).waitFor();
  } finally {
    await desk.leave();
  }
});
