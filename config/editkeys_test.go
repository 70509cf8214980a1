package config

import (
	"os"
	"path/filepath"
	"testing"
)

func TestKeysOfTheBooksKeeping(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sidewall.yaml")
	for text, want := range map[string]struct {
		confirm int
		channel string
		wrong   bool
	}{
		"book_confirm: 2\nadmin_channel: slack:C0123\n": {confirm: 2, channel: "slack:C0123"},
		"book_confirm: \"3\"\n":                         {confirm: 3},
		"lang: en\n":                                    {},
		"book_confirm: 0\n":                             {wrong: true},
		"book_confirm: -1\n":                            {wrong: true},
		"book_confirm: many\n":                          {wrong: true},
		"book_confirm: [2]\n":                           {wrong: true},
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Load(Options{File: file})
		if (err != nil) != want.wrong {
			t.Errorf("%q: %v", text, err)
		}
		if err == nil && (s.BookConfirm != want.confirm || s.AdminChannel != want.channel) {
			t.Errorf("%q: %d, %q", text, s.BookConfirm, s.AdminChannel)
		}
	}
}
