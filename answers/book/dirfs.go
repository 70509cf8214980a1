package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// DirFS is the book in a folder, whole: where a publication was cut short
// between its files, it shows all of them as that publication left them.
func DirFS(dir string) (fs.FS, error) {
	fsys, _, err := dirState(dir)
	return fsys, err
}

// LoadDir loads the book in a folder. A publication that happens meanwhile makes
// it begin again, so that it never mixes two revisions.
func LoadDir(ctx context.Context, dir string) (*Book, error) {
	b, _, _, err := loadDir(ctx, dir)
	return b, err
}

// loadDir also gives the folder's files and the number of its last publication.
func loadDir(ctx context.Context, dir string) (*Book, fs.FS, int, error) {
	const tries = 20
	for range tries {
		fsys, number, err := dirState(dir)
		if err != nil {
			return nil, nil, 0, err
		}
		b, err := Load(ctx, fsys)
		if ctx.Err() != nil {
			return nil, nil, 0, fmt.Errorf("loading the book: %w", ctx.Err())
		}
		_, after, stateErr := dirState(dir)
		if stateErr != nil {
			return nil, nil, 0, stateErr
		}
		if after == number {
			return b, fsys, number, err
		}
	}
	return nil, nil, 0, errors.New("loading the book: it was published again each time that it was read")
}

// dirState is a folder as it is to be read, and the number of its last publication.
func dirState(dir string) (fs.FS, int, error) {
	base := os.DirFS(dir)
	// The listing comes first: a publication that ends between the two reads has
	// its files in place by then.
	number, err := lastNumber(dir)
	if err != nil {
		return nil, 0, err
	}
	r, err := readRecord(filepath.Join(dir, historyDir, pendingFile))
	if errors.Is(err, fs.ErrNotExist) {
		return base, number, nil
	}
	if err != nil {
		return nil, 0, err
	}
	o := &overlay{base: base, files: map[string]*string{}}
	for _, f := range r.Files {
		// What is neither the old text nor the new one was edited since, and stays.
		if cur, err := readText(base, f.File); err == nil && same(cur, f.Before) {
			o.files[f.File] = f.After
		}
	}
	return o, max(number, r.Number), nil
}

// readText is a file's text; nil where there is no such file.
func readText(fsys fs.FS, name string) (*string, error) {
	raw, err := readFile(fsys, name, new(bytes.Buffer))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	s := string(raw)
	return &s, nil
}

func same(a, b *string) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// contentHash is what Book.Revision is made of.
type contentHash struct{ w io.Writer }

// add takes a file in. The lengths keep two different books from being one
// stream of bytes.
func (h contentHash) add(name string, raw []byte) {
	fmt.Fprintf(h.w, "%d %s %d ", len(name), name, len(raw))
	_, _ = h.w.Write(raw) // a hash never fails
}

// revisionOf is the revision that Load would give, without reading what the
// files say.
func revisionOf(ctx context.Context, fsys fs.FS) (string, error) {
	l := &loader{fsys: fsys}
	names, err := l.files()
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	for _, name := range names {
		if err := ctx.Err(); err != nil {
			return "", fmt.Errorf("reading the book: %w", err)
		}
		raw, err := readFile(fsys, name, &l.raw)
		if err != nil {
			return "", fmt.Errorf("%s: %w", name, err)
		}
		contentHash{sum}.add(name, raw)
	}
	return revisionName(sum.Sum(nil)), nil
}

func revisionName(sum []byte) string { return hex.EncodeToString(sum)[:12] }

// overlay is a file system with some files replaced, added or (nil) taken away.
type overlay struct {
	base  fs.FS
	files map[string]*string
}

func (o *overlay) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	text, ok := o.files[name]
	switch {
	case !ok:
		return o.base.Open(name)
	case text == nil:
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &memFile{memInfo{path.Base(name), int64(len(*text))}, bytes.NewReader([]byte(*text))}, nil
}

// ReadDir lists a folder with what was added to it and without what was taken away.
func (o *overlay) ReadDir(dir string) ([]fs.DirEntry, error) {
	es, err := fs.ReadDir(o.base, dir)
	missing := errors.Is(err, fs.ErrNotExist)
	if err != nil && !missing {
		return nil, err
	}
	by := map[string]fs.DirEntry{}
	for _, e := range es {
		by[e.Name()] = e
	}
	for name, text := range o.files {
		rest, in := strings.CutPrefix(name, dir+"/")
		if dir == "." {
			rest, in = name, true
		}
		if !in || strings.Contains(rest, "/") {
			continue
		}
		if text == nil {
			delete(by, rest)
			continue
		}
		missing = false
		by[rest] = fs.FileInfoToDirEntry(memInfo{rest, int64(len(*text))})
	}
	if missing {
		return nil, err
	}
	out := make([]fs.DirEntry, 0, len(by))
	for _, name := range slices.Sorted(maps.Keys(by)) {
		out = append(out, by[name])
	}
	return out, nil
}

type memFile struct {
	memInfo
	*bytes.Reader
}

func (f *memFile) Stat() (fs.FileInfo, error) { return f.memInfo, nil }
func (f *memFile) Close() error               { return nil }
func (f *memFile) Size() int64                { return f.size }

type memInfo struct {
	name string
	size int64
}

func (i memInfo) Name() string       { return i.name }
func (i memInfo) Size() int64        { return i.size }
func (i memInfo) Mode() fs.FileMode  { return 0o644 }
func (i memInfo) ModTime() time.Time { return time.Time{} }
func (i memInfo) IsDir() bool        { return false }
func (i memInfo) Sys() any           { return nil }
