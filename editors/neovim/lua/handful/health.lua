-- :checkhealth handful
local health = vim.health or require("health")
local start = health.start or health.report_start
local ok = health.ok or health.report_ok
local warn = health.warn or health.report_warn
local error = health.error or health.report_error

local M = {}

function M.check()
  local cmd = require("handful").command()
  start("handful")
  local path = vim.fn.exepath(cmd[1])
  if path == "" then
    error("there is no command " .. cmd[1], { "go install ./cmd/handful, and put the folder of `go env GOPATH` with /bin behind it on the path", 'or name it: require("handful").setup({ cmd = { "/…/handful", "lsp" } })' })
    return
  end
  local said = vim.fn.system({ path, "version" })
  if vim.v.shell_error ~= 0 then
    error(path .. " does not run: " .. vim.trim(said))
    return
  end
  ok(path .. ": " .. vim.trim(said))
  if vim.fn.has("nvim-0.7") ~= 1 then
    error("Neovim 0.7 or later is needed")
  end
  if vim.fn.exists("g:did_load_filetypes") == 0 and vim.fn.exists("did_load_filetypes") == 0 then
    warn("file types are off: `:filetype plugin on`, or no file is one of Handful's")
  end
  local open = 0
  for _, client in pairs((vim.lsp.get_clients or vim.lsp.get_active_clients)()) do
    if client.name == "handful" then
      open = open + 1
    end
  end
  if open > 0 then
    ok("the server runs")
  else
    ok("the server is started with the first .handful file that is opened")
  end
end

return M
