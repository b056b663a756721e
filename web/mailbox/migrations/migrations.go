// Package migrations holds the statements that make the tables of a mailbox, in files NNNN_name.sql to be run in order, each once, on SQLite and on D1 alike.
package migrations

import "embed"

// Files are the migrations. A file is never changed after it was in use: a new one follows it.
//
//go:embed *.sql
var Files embed.FS
