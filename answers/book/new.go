package book

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// New writes a copy of the book src into the folder dst, as the start of one's
// own. It makes the folder; one that holds anything already is refused, so
// that nobody's book is written over.
func New(dst string, src fs.FS) error {
	es, err := os.ReadDir(dst)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return fmt.Errorf("starting a book: %w", err)
	case len(es) > 0:
		return fmt.Errorf("starting a book: %s is not empty; name a new folder", dst)
	}
	err = fs.WalkDir(src, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dst, filepath.FromSlash(name))
		if d.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		data, err := fs.ReadFile(src, name)
		if err != nil {
			return err
		}
		// O_EXCL: what appeared since the look above stays as it is.
		f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			return err
		}
		_, err = f.Write(data)
		return errors.Join(err, f.Close())
	})
	if err != nil {
		return fmt.Errorf("starting a book in %s: %w", dst, err)
	}
	return nil
}
