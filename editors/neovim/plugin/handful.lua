-- :HandfulSheet [PLAYER], :HandfulPlan [PLAYERS] and :HandfulExport musicxml show what the
-- server makes of the present file.
for name, command in pairs({ HandfulSheet = "handful.sheet", HandfulPlan = "handful.plan", HandfulExport = "handful.export" }) do
  vim.api.nvim_create_user_command(name, function(given)
    require("handful").run(command, unpack(given.fargs))
  end, { nargs = "*" })
end
