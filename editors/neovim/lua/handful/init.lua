-- The language server of .handful files for Neovim 0.7 and later.
--
--   require("handful").setup({
--     cmd = { "handful", "lsp" },     -- how the server is started
--     profile = "student",            -- of players who do not say one
--     tempo = "110%",                 -- what if it goes faster
--     severities = { compromise = "off" },
--   })
--
-- Without setup the server is started with its defaults.
local M = { config = { cmd = { "handful", "lsp" } } }

function M.setup(config)
  M.config = vim.tbl_extend("force", M.config, config or {})
end

-- How the server is started: a command that is not on the path may be where Go installs.
function M.command()
  local cmd = vim.deepcopy(M.config.cmd)
  if vim.fn.executable(cmd[1]) == 1 or cmd[1]:find("/") then
    return cmd
  end
  for _, dir in ipairs({ vim.env.GOBIN or "", (vim.env.GOPATH or vim.fn.expand("~/go")) .. "/bin" }) do
    if dir ~= "" and vim.fn.executable(dir .. "/" .. cmd[1]) == 1 then
      cmd[1] = dir .. "/" .. cmd[1]
      break
    end
  end
  return cmd
end

local clients = {} -- by root folder

-- The folder that the server may read: the one with .git, else the file's own.
local function root_of(buf)
  local dir = vim.fn.fnamemodify(vim.api.nvim_buf_get_name(buf), ":p:h")
  local up = dir
  while true do
    if vim.fn.isdirectory(up .. "/.git") == 1 then
      return up
    end
    local parent = vim.fn.fnamemodify(up, ":h")
    if parent == up then
      return dir
    end
    up = parent
  end
end

-- A table without anything in it would go out as a list.
local function settings()
  local set = { profile = M.config.profile, tempo = M.config.tempo, severities = M.config.severities }
  return next(set) and set or vim.empty_dict()
end

-- The server has lost track of a text: it gets it whole.
local function send_again(_, params, context)
  local client = vim.lsp.get_client_by_id(context.client_id)
  local buf = vim.uri_to_bufnr(params.uri)
  if client and vim.api.nvim_buf_is_loaded(buf) then
    local text = table.concat(vim.api.nvim_buf_get_lines(buf, 0, -1, false), "\n")
    client.notify("textDocument/didChange", {
      textDocument = { uri = params.uri, version = vim.api.nvim_buf_get_changedtick(buf) },
      contentChanges = { { text = vim.bo[buf].eol and text .. "\n" or text } },
    })
  end
end

function M.attach(buf)
  local cmd = M.command()
  if vim.fn.executable(cmd[1]) ~= 1 then
    vim.notify("handful: " .. cmd[1] .. " is not there; put it on the path, or name it in setup()", vim.log.levels.WARN)
    return
  end
  local root = root_of(buf)
  local id = clients[root]
  if not id or vim.lsp.client_is_stopped(id) then
    id = vim.lsp.start_client({
      name = "handful",
      cmd = cmd,
      root_dir = root,
      workspace_folders = { { name = root, uri = vim.uri_from_fname(root) } },
      init_options = settings(),
      settings = { handful = settings() },
      capabilities = vim.tbl_extend("force", vim.lsp.protocol.make_client_capabilities(), { experimental = { handfulSendAgain = true } }),
      handlers = { ["handful/sendAgain"] = send_again },
    })
    clients[root] = id
  end
  if id then
    vim.lsp.buf_attach_client(buf, id)
    -- Where an error and a remark share a line, the error's sign is shown.
    vim.diagnostic.config({ severity_sort = true }, vim.lsp.diagnostic.get_namespace(id))
    vim.bo[buf].omnifunc = "v:lua.vim.lsp.omnifunc" -- later versions do this by themselves
  end
end

-- What stands above a player, when it is chosen in the editor.
vim.lsp.commands["handful.sheet"] = function(command)
  M.run(command.command, unpack(command.arguments, 2))
end

-- Runs one of the server's commands on the present buffer and shows the text
-- that comes back.
function M.run(command, ...)
  local arguments = { vim.uri_from_bufnr(0), ... }
  vim.lsp.buf_request(0, "workspace/executeCommand", { command = command, arguments = arguments }, function(err, text)
    if err then
      vim.notify("handful: " .. err.message, vim.log.levels.ERROR)
      return
    end
    vim.cmd("botright new")
    vim.bo.buftype = "nofile"
    vim.bo.bufhidden = "wipe"
    vim.bo.swapfile = false
    vim.api.nvim_buf_set_lines(0, 0, -1, false, vim.split(text or "", "\n"))
    vim.bo.modifiable = false
  end)
end

return M
