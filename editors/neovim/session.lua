-- A headless session: opens a piece that cannot be played, reads what the
-- server finds, applies its first fix, and sees the finding gone.
--   nvim --headless -u NONE -i NONE --cmd 'set rtp^=editors/neovim' -S session.lua
local function say(...)
  io.stdout:write("neovim: ", string.format(...), "\n")
end

local function fail(...)
  say(...)
  vim.cmd("cquit 1")
end

-- Nothing is complained of while a file is opened and worked on.
local complaints = {}
vim.lsp.handlers["window/showMessage"] = function(_, params)
  table.insert(complaints, params.message)
end
vim.notify = function(message)
  table.insert(complaints, message)
end

vim.cmd("filetype plugin on | syntax on")
vim.cmd("runtime! plugin/handful.lua")
require("handful").setup({ cmd = { vim.env.HANDFUL, "lsp" } })
vim.cmd("edit " .. vim.fn.fnameescape(vim.env.PIECE))
say("%s opened %s", vim.version and "version " .. tostring(vim.version().minor) or "", vim.fn.expand("%:t"))

local function finding(code)
  for _, d in ipairs(vim.diagnostic.get(0)) do
    local is = d.code or (d.user_data and d.user_data.lsp and d.user_data.lsp.code)
    if is == code then
      return d
    end
  end
end

if not vim.wait(120000, function() return finding("short-change") ~= nil end, 20) then
  fail("no short-change was shown: %s", vim.inspect(vim.diagnostic.get(0)))
end
local found = finding("short-change")
say("line %d is underlined: %s", found.lnum + 1, found.message)

-- What a hover shows of any word of the underlined cue: the finding first, with
-- what is needed, what there is and what is to spare.
local row = vim.api.nvim_buf_get_lines(0, found.lnum, found.lnum + 1, false)[1]
for _, word in ipairs({ "triangle", "clipped", "triangle%-beater", "as written" }) do
  vim.api.nvim_win_set_cursor(0, { found.lnum + 1, row:find(word) - 1 })
  local before = vim.api.nvim_list_wins()
  vim.lsp.buf.hover()
  local shown
  local function popped()
    for _, w in ipairs(vim.api.nvim_list_wins()) do
      if not vim.tbl_contains(before, w) then
        shown = table.concat(vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(w), 0, -1, false), "\n")
        vim.api.nvim_win_close(w, true)
        return true
      end
    end
  end
  if not vim.wait(60000, popped, 20) then
    fail("nothing is shown on a hover of %s", word)
  end
  for _, part in ipairs({ "short%-change", "needed", "there is", "to spare", "MTM" }) do
    if not shown:find(part) then
      fail("a hover of %s does not say %s: %s", word, part, shown)
    end
  end
end
say("a hover of any word of the cue shows the arithmetic")

vim.api.nvim_win_set_cursor(0, { found.lnum + 1, found.col })
local params = vim.lsp.util.make_range_params()
params.context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics() }
local answers = vim.lsp.buf_request_sync(0, "textDocument/codeAction", params, 60000)
local action, client
for id, answer in pairs(answers or {}) do
  if answer.result and answer.result[1] then
    action, client = answer.result[1], vim.lsp.get_client_by_id(id)
  end
end
if not action then
  fail("no fix was offered: %s", vim.inspect(answers))
end
say("applying the first fix: %s", action.title)
vim.lsp.util.apply_workspace_edit(action.edit, client.offset_encoding)

if not vim.wait(120000, function() return finding("short-change") == nil and #vim.diagnostic.get(0) > 0 end, 20) then
  fail("the finding is still there: %s", vim.inspect(vim.diagnostic.get(0)))
end
say("it is gone; the line reads: %s", vim.api.nvim_buf_get_lines(0, found.lnum, found.lnum + 1, false)[1])
if vim.bo.omnifunc ~= "v:lua.vim.lsp.omnifunc" then
  fail("words are not completed: omnifunc is %q", vim.bo.omnifunc)
end

-- An edit that does not fit: the server asks for the text and gets it.
local before = #vim.diagnostic.get(0)
local nowhere = { line = 99999, character = 0 }
client.notify("textDocument/didChange", {
  textDocument = vim.lsp.util.make_text_document_params(),
  contentChanges = { { range = { start = nowhere, ["end"] = nowhere }, text = "x" } },
})
local lost = false
local handler = client.handlers["handful/sendAgain"]
client.handlers["handful/sendAgain"] = function(...)
  lost = true
  return handler(...)
end
if not vim.wait(120000, function() return lost end, 20) then
  fail("the server does not ask for a text that it has lost")
end
if not vim.wait(120000, function() return #vim.diagnostic.get(0) == before and not finding(nil) end, 20) then
  fail("the text is lost: %s", vim.inspect(vim.diagnostic.get(0)))
end
say("a text that was lost is there again")

local hover = vim.lsp.buf_request_sync(0, "textDocument/hover", vim.lsp.util.make_position_params(), 60000)
if not hover or not next(hover) then
  fail("no answer to hover")
end

-- A piece typed letter by letter: while a line is written, no error stands on it.
vim.cmd("edit " .. vim.fn.fnameescape(vim.fn.fnamemodify(vim.env.PIECE, ":h") .. "/typed.handful"))
local lines = {
  'title "Typed"', "tempo 96", "meter 4/4", "bars 4", "mark A at 3", 'part "Percussion"', "  woodblock | mf 1 2 3 4 | % x3",
  "player Ida", "  R woodblock clamped with rubber-mallet as written", "  from A", "  R woodblock clamped with rubber-mallet as written",
}
local errors = { severity = vim.diagnostic.severity.ERROR }
local keys, bad = 0, {}
for n, line in ipairs(lines) do
  if n > 1 then
    vim.api.nvim_buf_set_lines(0, -1, -1, false, { "" })
  end
  vim.api.nvim_win_set_cursor(0, { n, 0 })
  for i = 1, #line do
    vim.api.nvim_buf_set_text(0, n - 1, i - 1, n - 1, i - 1, { line:sub(i, i) })
    vim.wait(60, function() return false end, 10)
    keys = keys + 1
    for _, d in ipairs(vim.diagnostic.get(0, errors)) do
      if d.lnum == n - 1 then
        table.insert(bad, line:sub(1, i) .. ": " .. d.message)
        break
      end
    end
  end
end
if table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), "\n") ~= table.concat(lines, "\n") then
  fail("the text is not what was typed")
end
say("%d letters typed, an error on their line at %d", keys, #bad)
if #bad * 3 > keys then -- where the machine is so busy that a second passes between two letters, some may
  fail("errors on the line that is written: %s", vim.inspect(bad))
end
-- What is wrong is not lost: a line that stops short is told when the pen rests.
vim.api.nvim_buf_set_lines(0, -1, -1, false, { "mark" })
if not vim.wait(60000, function() return #vim.diagnostic.get(0, errors) > 0 end, 20) then
  fail("a line that stops short is never told")
end
say("what waited is shown: %s", vim.diagnostic.get(0, errors)[1].message)
vim.bo.modified = false

-- What completion offers behind a limb, as it is shown: whole cues, checked.
vim.api.nvim_buf_set_lines(0, 0, -1, false, {
  "tempo 96", 'part "Percussion"', "  woodblock | mf 1 3 | %", "  triangle  | - | 1", "player Ida",
  "  R woodblock clamped with rubber-mallet as written", "  L ",
})
vim.api.nvim_win_set_cursor(0, { 7, 4 })
local offered
local function proven()
  local got = vim.lsp.buf_request_sync(0, "textDocument/completion", {
    textDocument = vim.lsp.util.make_text_document_params(), position = { line = 6, character = 4 },
  }, 60000)
  for _, answer in pairs(got or {}) do
    offered = answer.result and vim.lsp.util.text_document_completion_list_to_complete_items(answer.result, "") or {}
    if answer.result and not answer.result.isIncomplete then
      return true
    end
  end
end
if not vim.wait(60000, proven, 50) then
  fail("what may stand behind a limb is never checked")
end
if not offered[1] or not offered[1].word:find("^triangle .*as written$") or not offered[1].menu:find("checked:", 1, true) then
  fail("no whole cue is offered first: %s", vim.inspect(offered[1]))
end
say("offered first: %s (%s)", offered[1].word, offered[1].menu)
vim.bo.modified = false

-- :checkhealth says what is there.
vim.cmd("silent checkhealth handful")
local healthy = table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), "\n")
if not healthy:find(vim.env.HANDFUL, 1, true) or not healthy:find("the server runs", 1, true) or healthy:find("ERROR") then
  fail("checkhealth says: %s", healthy)
end
say("checkhealth finds the command and the server")
vim.cmd("bwipeout!")

if #complaints > 0 then
  fail("somebody complained: %s", vim.inspect(complaints))
end
for _, c in pairs(vim.lsp.get_active_clients()) do
  c.stop()
end
vim.wait(2000, function() return #vim.lsp.get_active_clients() == 0 end, 20)

-- A command that Go has installed is found where that is not on the path.
require("handful").setup({ cmd = { "handful-by-go", "lsp" } })
local installed = require("handful").command()
if installed[1] ~= vim.env.HOME .. "/go/bin/handful-by-go" or installed[2] ~= "lsp" then
  fail("the command that Go has installed is not found: %s", vim.inspect(installed))
end

-- A command that is not there is told in a sentence, and by :checkhealth.
require("handful").setup({ cmd = { "no-such-handful", "lsp" } })
vim.cmd("edit " .. vim.fn.fnameescape(vim.fn.fnamemodify(vim.env.PIECE, ":h") .. "/missing.handful"))
if not vim.wait(5000, function() return #complaints > 0 end, 20) or not complaints[1]:find("no%-such%-handful is not there; put it on the path") then
  fail("a missing command is not told: %s", vim.inspect(complaints))
end
say("without the command: %s", complaints[1])
vim.cmd("silent checkhealth handful")
local ill = table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), "\n")
if not ill:find("there is no command no%-such%-handful") then
  fail("checkhealth says: %s", ill)
end
say("done")
vim.cmd("qall!")
