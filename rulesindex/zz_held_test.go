package rulesindex_test

import (
	"bufio"
	"encoding/json"
	"os"
	"sidewall/rulesindex"
	"testing"
)

func TestHeld(t *testing.T) {
	ix := shippedIndex(t)
	for _, f := range []string{"outside-scope", "en-gear", "en-game", "en-safety", "es"} {
		fh, err := os.Open("../testdata/questions/" + f + ".jsonl")
		if err != nil {
			continue
		}
		n, hit := 0, 0
		for s := bufio.NewScanner(fh); s.Scan(); {
			var c struct {
				Q, Division string
				Want        struct {
					Topic, Verdict string
					Values         map[string]any
				}
			}
			json.Unmarshal(s.Bytes(), &c)
			if f != "outside-scope" && c.Want.Topic != "summary" && c.Want.Topic != "" {
				continue
			}
			n++
			h, _ := ix.Search(t.Context(), rulesindex.Query{Text: c.Q, Division: c.Division, On: onDay})
			if len(h) > 0 {
				hit++
				t.Logf("%s/%s %q -> %s/%s %.2f", f, c.Want.Topic, c.Q, h[0].ID, h[0].Section, h[0].Score)
			} else if c.Want.Topic == "summary" {
				t.Logf("%s MISS %q", f, c.Q)
			}
		}
		t.Logf("%s: %d, hits %d", f, n, hit)
	}
}
