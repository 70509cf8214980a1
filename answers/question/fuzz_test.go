package question

import "testing"

// FuzzQuantities reads the quantities of any text: each stands on tokens of the
// text, in order of its bounds, and reading again gives the same.
func FuzzQuantities(f *testing.F) {
	for _, s := range []string{
		"43 inch", "39 1/2\" stick", "4'6\" d-man", "5 ft 2 kid", "112,5 cm", "cuarenta y dos pulgadas y media", "37-42 in", "1/0", "½ in", "- 4 f",
		"6:12 in the 2nd", "18:75", "2/30/2016", "born 9-1-15", "3rd grade u11 #22", "99999999999999999999 yd", "1:00 1:00 1:00", "one hundred and", "0.0.0", "a half",
	} {
		f.Add(s)
	}
	r, err := NewRecogniser(Vocabulary{Divisions: []Division{{ID: "U11", Under: 11, Band: 10}, {ID: "HS", Aliases: []string{"varsity"}}}})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, lang := range [...]string{"", "es"} {
			q := r.Read(text, lang)
			again := r.Read(text, lang)
			if len(q.Quantities) != len(again.Quantities) {
				t.Fatalf("%q: %d quantities, then %d", text, len(q.Quantities), len(again.Quantities))
			}
			for i, u := range q.Quantities {
				if u.start < 0 || u.start >= u.end || u.end > len(q.toks) {
					t.Errorf("%q: quantity %d stands on tokens %d to %d of %d", text, i, u.start, u.end, len(q.toks))
				}
				if u != again.Quantities[i] {
					t.Errorf("%q: quantity %d is %+v, then %+v", text, i, u, again.Quantities[i])
				}
			}
		}
	})
}
