package book_test

import (
	"bytes"
	"errors"
	"flag"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"sidewall/answers/book"
	"sidewall/answers/measure"
	"sidewall/config"
)

var update = flag.Bool("update", false, "write the expected texts anew")

const booksDir = "../../testdata/books"

// smallBook is the book good/small in memory, to be changed by a test.
func smallBook(t testing.TB) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	dir := os.DirFS(filepath.Join(booksDir, "good/small"))
	err := fs.WalkDir(dir, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(dir, name)
		out[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func golden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs (-update writes it anew)\ngot:\n%s\nwant:\n%s", file, got, want)
	}
}

// change replaces files by those of an archive ("-- NAME --" above each), and
// takes away what "remove NAME" above all files names.
func change(b fstest.MapFS, archive string) {
	name := ""
	for line := range strings.Lines(archive) {
		head := strings.TrimSpace(line)
		switch gone, remove := strings.CutPrefix(head, "remove "); {
		case strings.HasPrefix(head, "-- ") && strings.HasSuffix(head, " --"):
			name = head[3 : len(head)-3]
			b[name] = &fstest.MapFile{}
		case name != "":
			b[name].Data = append(b[name].Data, line...)
		case remove:
			maps.DeleteFunc(b, func(name string, _ *fstest.MapFile) bool { return name == gone || strings.HasPrefix(name, gone+"/") })
		}
	}
}

// Each bad/*.txtar is good/small with some files replaced ("remove NAME" lines
// above the files take files away); beside it stands what loading must say.
func TestBadBooks(t *testing.T) {
	archives, err := filepath.Glob(filepath.Join(booksDir, "bad/*.txtar"))
	if err != nil || len(archives) < 20 {
		t.Fatalf("%d bad books, %v", len(archives), err)
	}
	for _, name := range archives {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			archive, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			b := smallBook(t)
			change(b, string(archive))
			got, err := book.Load(t.Context(), b)
			var errs book.Errors
			if !errors.As(err, &errs) || got != nil {
				t.Fatalf("book %v, error %v: want no book and Errors", got, err)
			}
			for _, e := range errs {
				if e.File == "" || e.What == "" || e.Fix == "" {
					t.Errorf("%q lacks a file, what is wrong, or what to write instead", e)
				}
			}
			golden(t, strings.TrimSuffix(name, ".txtar")+".want", err.Error()+"\n")
		})
	}
}

func TestGoodBooks(t *testing.T) {
	b, err := book.Load(t.Context(), smallBook(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, topic, division string
		on                    measure.Date
	}{
		{"sticks-2027", "sticks", "", 20270410},
		{"sticks-U11-2012", "sticks", "U11", 20120410},
		{"fouls-2027", "fouls", "", 20270410},
		{"all-U9", "", "U9", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var w bytes.Buffer
			if err := book.Show(&w, b, c.topic, c.division, c.on); err != nil {
				t.Fatal(err)
			}
			golden(t, filepath.Join(booksDir, "good", "small-"+c.name+".want"), w.String())
		})
	}
	for _, c := range []struct{ topic, division, want string }{
		{"stick", "", `the book has no topic "stick"; write sticks`},
		{"sticks", "u-11", `the book has no division "u-11"; write U11`},
	} {
		if err := book.Show(&bytes.Buffer{}, b, c.topic, c.division, 0); err == nil || err.Error() != c.want {
			t.Errorf("Show %s %s: %v, want %s", c.topic, c.division, err, c.want)
		}
	}
}

// shippedFiles is the shipped book in memory.
func shippedFiles(t testing.TB) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	src := config.ShippedBook()
	err := fs.WalkDir(src, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(src, name)
		out[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
