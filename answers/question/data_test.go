package question

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// TestAllDataIsRead fails where a file of words was put in its folder and not in
// the lists of data.go.
func TestAllDataIsRead(t *testing.T) {
	for dir, files := range map[string][]dataFile{"data/en": lexiconEN, "data/es": lexiconES} {
		names, err := filepath.Glob(dir + "/*.txt")
		if err != nil {
			t.Fatal(err)
		}
		var read []string
		for _, f := range files {
			read = append(read, f.name)
			if raw, err := os.ReadFile(f.name); err != nil || string(raw) != f.text {
				t.Errorf("%s is not what the list has under its name: %v", f.name, err)
			}
		}
		slices.Sort(names)
		if !slices.Equal(names, read) { // the order counts: tags are numbered as they come
			t.Errorf("%s has %q, read are %q", dir, names, read)
		}
	}
}
