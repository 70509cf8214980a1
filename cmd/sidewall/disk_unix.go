//go:build unix

package main

import (
	"errors"
	"syscall"
)

// diskFull says whether an error means that there is no room left.
func diskFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}
