// Package config holds what a club sets or starts from: the settings and the
// book that ships inside the binary.
package config

import (
	"embed"
	"io/fs"
)

//go:embed all:book
var shipped embed.FS

// ShippedBook is the book inside the binary: an invented club's, ready to be
// asked, and the start of a club's own.
func ShippedBook() fs.FS {
	sub, err := fs.Sub(shipped, "book")
	if err != nil {
		panic(err) // the path is constant
	}
	return sub
}
