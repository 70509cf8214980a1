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

// shippedYAML is the YAML of every file of the shipped book, by name.
func shippedYAML(t testing.TB) map[string]string {
	t.Helper()
	out := map[string]string{}
	dir := os.DirFS("../../config/book")
	err := fs.WalkDir(dir, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".yaml") && !strings.HasSuffix(name, ".md") {
			return err
		}
		raw, err := fs.ReadFile(dir, name)
		if err != nil {
			return err
		}
		out[name] = string(raw)
		if strings.HasSuffix(name, ".md") {
			var errs Errors
			front, _, _, ok := frontMatter(newFile(name, string(raw), &errs))
			if !ok {
				return fmt.Errorf("%s: no front matter", name)
			}
			out[name] = front
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 50 {
		t.Fatalf("read %d files only", len(out))
	}
	return out
}

// The quick reader must read every file of the shipped book, as the full
// parser does: a book that is slow to read makes every answer slow.
func TestPlainReadsTheShippedBook(t *testing.T) {
	for name, text := range shippedYAML(t) {
		quick, ok := new(plainReader).plainYAML(text)
		if !ok {
			t.Errorf("%s: the quick reader gave up", name)
			continue
		}
		full, err := parseYAML(text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := sameTree(text, &quick, &full, name); d != "" {
			t.Error(d)
		}
	}
}

// The two readers over the whole shipped book: what the quick one saves.
func BenchmarkReadYAML(b *testing.B) {
	files := shippedYAML(b)
	p := new(plainReader)
	for name, read := range map[string]func(string) (node, error){"quick": p.readYAML, "full": parseYAML} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for _, text := range files {
					if _, err := read(text); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
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
