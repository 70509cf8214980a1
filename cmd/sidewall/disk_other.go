//go:build !unix

package main

import "strings"

// diskFull says whether an error means that there is no room left.
func diskFull(err error) bool { return strings.Contains(err.Error(), "space") }
