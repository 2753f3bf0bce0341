-- Settings of a .handful buffer, and its language server.
vim.bo.commentstring = "# %s"
vim.bo.shiftwidth = 2
vim.bo.expandtab = true
vim.opt_local.iskeyword:append("-") -- names have hyphens

require("handful").attach(vim.api.nvim_get_current_buf())
