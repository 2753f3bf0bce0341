// What is on the screen of somebody who opens a piece for the first time.
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const test = require("node:test");
const { sitDown } = require("./desk");

// An invented piece: one hand has two instruments, two things to hold, and no
// time between them.
const piece = fs.readFileSync(path.join(__dirname, "..", "two-hands.handful"), "utf8");
const bad = 10; // the line that is underlined

test("a first open in restricted mode: the reason at the squiggle, a fix that mends it, a cue that is offered", async () => {
  const desk = await sitDown({ files: { "show.handful": piece }, trusted: false, tall: 900 });
  const { page } = desk;
  try {
    await desk.open("show.handful");
    await desk.watch();
    await desk.until("nothing is underlined", () => desk.squiggles("error"), (s) => s.length === 1 && s[0] === bad);
    assert.deepStrictEqual(await desk.notices(), [], "nobody complains of anything");
    // Right and left look different, also without colour: here both are right.
    const limbs = await desk.until("the limbs are not told apart", () => page.locator(".view-line span span").evaluateAll((all) =>
      all.filter((e) => e.textContent.trim() === "R").map((e) => [getComputedStyle(e).fontWeight, getComputedStyle(e).textDecorationLine])), (l) => l.length === 2 && l.every(([w]) => w >= 600));
    assert.ok(limbs.every(([, line]) => !line.includes("underline")));
    // The hover of a word of the cue has the finding and its table.
    const beater = page.locator(".view-line").filter({ hasText: "triangle-beater" }).getByText("triangle-beater").first();
    const told = await desk.until("the hover has no table", () => desk.hover(beater), (t) => /needed/.test(t) && /to spare/.test(t));
    for (const part of ["short-change", "there is", "MTM"]) assert.ok(told.includes(part), `${part} is not in ${told}`);
    assert.ok(told.indexOf("short-change") < told.indexOf("needed"), "the finding first");
    await desk.picture("hover");
    // The list of fixes, and the first of them.
    await page.mouse.move(5, 5);
    await desk.go(bad);
    const fixes = page.locator(".action-widget");
    await desk.until("no fixes are listed", async () => {
      await page.keyboard.press("Control+."); // again, where the list of lines still had the focus
      await page.waitForTimeout(1500);
      return fixes.count();
    }, (n) => n > 0);
    const offered = await fixes.innerText();
    assert.match(offered, /left hand/);
    await desk.picture("fixes");
    await page.keyboard.press("Enter");
    await desk.until("the finding is still there", () => desk.squiggles("error"), (s) => s.length === 0);
    const text = await desk.save("show.handful");
    assert.match(text, /\n {2}L triangle clipped with triangle-beater as written\n/);
    await desk.picture("fixed");
    // Behind a limb whole cues are offered that have been checked; Tab takes one.
    await page.keyboard.press("End");
    await page.keyboard.press("Shift+Home");
    for (const ch of "L ") await page.keyboard.type(ch, { delay: 200 });
    const list = page.locator(".suggest-widget.visible");
    await desk.until("no whole cue is offered", async () => {
      await page.keyboard.press("Escape"); // what is not checked yet is there when the list is asked for again
      await page.keyboard.press("Control+Space");
      await page.waitForTimeout(500);
      return (await list.allInnerTexts()).join();
    }, (t) => /triangle clipped .*as written/.test(t));
    await desk.picture("offers");
    await page.keyboard.press("Tab");
    await page.keyboard.type(" # taken");
    assert.match(await desk.save("show.handful"), /\n {2}L triangle clipped .*as written # taken\n/);
  } finally {
    await desk.leave();
  }
});

test("a command that is not there is told in a sentence with ways out", async () => {
  const desk = await sitDown({ files: { "show.handful": piece }, handful: "/nowhere/handful", tall: 900 });
  try {
    await desk.open("show.handful");
    const told = desk.page.locator(".notifications-toasts");
    await told.getByText("There is no command /nowhere/handful here").waitFor();
    for (const way of ["Open the setting", "How to install", "Try again"]) await told.getByRole("button", { name: way }).waitFor();
    assert.doesNotMatch(await told.innerText(), /undefined|null/);
    // Words are coloured all the same.
    const colours = await desk.page.locator(".view-line").nth(7).locator("span span").evaluateAll((all) => new Set(all.map((e) => getComputedStyle(e).color)).size);
    assert.ok(colours > 1, "the words have no colours");
    await desk.picture("no-command");
  } finally {
    await desk.leave();
  }
});
