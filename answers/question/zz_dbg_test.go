package question

import ("testing";"fmt";"os";"strings")

func TestZZDbg(t *testing.T) {
	r, err := NewRecogniser(Vocabulary{Divisions: []Division{{ID: "U9", Under: 9, Band: 8}, {ID: "U11", Under: 11, Band: 10}, {ID: "U13", Under: 13, Band: 12}, {ID: "U15", Under: 15, Band: 14}, {ID: "HS"}}})
	if err != nil { t.Fatal(err) }
	fmt.Println("tags", len(r.x.names))
	for _, s := range strings.Split(os.Getenv("ZQ"), "|") {
		if s == "" { continue }
		q := r.Read(s, "")
		fmt.Println(s, q.Lang)
		for k := range q.hits { h := &q.hits[k]; w := ""; for i := h.start; i < h.end; i++ { w += q.toks[i].text + " " }; var n []string; for _, t := range h.tags { n = append(n, r.x.names[t]) }; fmt.Println("   ", h.start, h.end, w, n, h.negated) }
		for _, u := range q.Quantities { fmt.Println("   Q", u.Kind, u.Lo, u.Hi, u.start, u.end) }
		fmt.Println("   C", q.countedIn(q.Whole(), nil))
	}
}
