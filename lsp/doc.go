// Package lsp is the language server: it speaks the Language Server Protocol
// 3.18 about .handful files.
//
// In come an editor's messages, over any stream. Out go diagnostics, fixes,
// hovers and the rest, all taken from a [check.Result]; nothing is worked out
// here that the checker knows. One file holds one request.
//
// Edits are applied in the order in which they arrive, by the goroutine that
// reads. Every other request sees the documents as they stood when it
// arrived, and runs by itself. A check is given up when a newer edit makes
// nobody wait for it any more.
//
// The server reads nothing outside the workspace folders, writes no file, and
// listens on nothing but loopback.
package lsp
