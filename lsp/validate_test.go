package lsp

func (c *client) validate(m message) {}
