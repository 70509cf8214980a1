package question

import (
	"bufio"
	"flag"
	"os"
	"sort"
	"strings"
	"testing"
)

var (
	updateCommon = flag.Bool("update-common", false, "write data/common.txt anew from -words")
	wordList     = flag.String("words", "/usr/share/dict/american-english-small", "a list of everyday words, one a line")
)

const commonHead = "# Everyday words that lie within a slip of a lexicon word and must not be taken for one; made from\n" +
	"# a SCOWL word list (copyright Kevin Atkinson, free to use, copy and distribute) by TestCommonWords. Sorted.\n"

// TestCommonWords checks the list's form, and with -update-common makes it: the
// words of a plain word list that spelling correction would take for another.
func TestCommonWords(t *testing.T) {
	r, err := NewRecogniser(Vocabulary{})
	if err != nil {
		t.Fatal(err)
	}
	if *updateCommon {
		f, err := os.Open(*wordList)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		var out []string
		sc := bufio.NewScanner(f)
		for sc.Scan() {
			w := sc.Text()
			if len(w) < shortWord || strings.Trim(w, "abcdefghijklmnopqrstuvwxyz") != "" {
				continue
			}
			tok := token{text: w, kind: wordToken}
			if r.x.lookup(&tok, langEN); tok.nids > 0 {
				continue
			}
			if _, ok := r.x.correct(w, langEN|langES); ok {
				out = append(out, w)
			}
		}
		sort.Strings(out)
		if err := os.WriteFile("data/common.txt", []byte(commonHead+strings.Join(out, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	prev := ""
	for n, line := range strings.Split(strings.TrimSuffix(r.common, "\n"), "\n") {
		if line <= prev && !strings.HasPrefix(line, "#") {
			t.Fatalf("data/common.txt:%d: %q is out of order", n+1, line)
		}
		prev = line
	}
	for _, w := range []string{"patch", "clash"} {
		if !r.isCommon(w) {
			t.Errorf("%q should be an everyday word", w)
		}
	}
	if r.isCommon("goalkeeper") {
		t.Error("goalkeeper is no everyday word of the list")
	}
}
