package book

import (
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"
	"unicode/utf8"
)

// sameTree says where two trees differ. Columns are compared with the text
// itself: the full parser's are off by one after some trailing blanks.
func sameTree(src string, a, b *node, path string) string {
	if a.kind != b.kind || a.text != b.text || a.line != b.line || len(a.items) != len(b.items) || len(a.keys) != len(b.keys) {
		return fmt.Sprintf("%s: %d %q line %d, %d items, against %d %q line %d, %d items", path, a.kind, a.text, a.line, len(a.items), b.kind, b.text, b.line, len(b.items))
	}
	if a.kind == plain || a.kind == quoted {
		line := []rune(strings.Split(src, "\n")[a.line-1])
		if at := strings.TrimLeft(string(line[a.col-1:]), "\"'"); !strings.HasPrefix(at, strings.TrimLeft(a.text, "\"'")) {
			return fmt.Sprintf("%s: %q is not at %d:%d", path, a.text, a.line, a.col)
		}
	}
	for i := range a.keys {
		if d := sameTree(src, &a.keys[i], &b.keys[i], path+"/key"); d != "" {
			return d
		}
	}
	for i := range a.items {
		if d := sameTree(src, &a.items[i], &b.items[i], fmt.Sprintf("%s/%d", path, i)); d != "" {
			return d
		}
	}
	return ""
}

// The quick reader must read every file of the shipped book, as the full
// parser does: a book that is slow to read makes every answer slow.
func TestPlainReadsTheShippedBook(t *testing.T) {
	dir := os.DirFS("../../config/book")
	read := 0
	err := fs.WalkDir(dir, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".yaml") && !strings.HasSuffix(name, ".md") {
			return err
		}
		raw, err := fs.ReadFile(dir, name)
		if err != nil {
			return err
		}
		text := string(raw)
		if strings.HasSuffix(name, ".md") {
			var errs Errors
			var ok bool
			if text, _, _, ok = frontMatter(newFile(name, raw, &errs)); !ok {
				t.Errorf("%s: no front matter", name)
				return nil
			}
		}
		quick, ok := new(plainReader).plainYAML(text)
		if !ok {
			t.Errorf("%s: the quick reader gave up", name)
			return nil
		}
		full, err := parseYAML(text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return nil
		}
		if d := sameTree(text, &quick, &full, name); d != "" {
			t.Error(d)
		}
		read++
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if read < 50 {
		t.Errorf("read %d files only", read)
	}
}

func FuzzPlainYAML(f *testing.F) {
	for _, s := range []string{
		"a: 1\nb: [1, 2]\nc: {d: e, f: [g, h]}\n",
		"a:\n  - b: c\n    d: e\n  - f\nz:\n- 1\n- 2\n",
		"# c\na: \"x # y\" # z\n\nb: 'it: is'\nc:\nd: null\n",
		"a: [one, two,\n    three, 4.5]\nb: niño\n",
		"a: -5\nb: 2010-01-01\nc: 53 1/3\nd: 1-6\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		if len(src) > 4096 || !utf8.ValidString(src) {
			return
		}
		quick, ok := new(plainReader).plainYAML(src)
		if !ok {
			return
		}
		full, err := parseYAML(src)
		if err != nil {
			t.Fatalf("the full parser refuses what the quick reader read: %v\n%q", err, src)
		}
		if d := sameTree(src, &quick, &full, ""); d != "" {
			t.Fatalf("%s\n%q", d, src)
		}
	})
}
