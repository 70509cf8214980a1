package question_test

import (
	"testing"

	"sidewall/answers/measure"
	"sidewall/answers/question"
)

// Sizes that are taken back, cut away or of the day measure nothing.
func TestSizesLeft(t *testing.T) {
	r := gearWords(t)
	of := question.Measure{Kind: question.Length, Dims: []string{"stick", "", "height"}, BareUnit: int64(measure.Inch), BareLo: 0, BareHi: 90, BareDims: []string{"stick", "", "height"}}.Reader()
	for text, want := range map[string]int64{
		"stick is 41, no wait, 45 inches, hes a defender": 45,
		"i cut his stick from 60 to 42 inches":            42,
		"the stick, game is at 9 tomorrow":                0,
		"his stick isnt 72, its 73 inches":                73,
	} {
		v, ok := read(r.Read(text, "en"), of)
		if ok != (want > 0) || ok && (v.Lo != want*int64(measure.Inch) || v.Hi != v.Lo) {
			t.Errorf("%q: got %+v %v, want %d in", text, v, ok, want)
		}
	}
}

// A "not" that only asks, or tells who minded, denies nothing of the thing.
func TestOnlyAsks(t *testing.T) {
	r := gearWords(t)
	loose := question.Turned(question.Judged([]string{"fit:snug"}, []string{"fit:loose"}))
	for text, want := range map[string]int64{
		"isnt a loose helmet legal":                        1,
		"why isnt a loose helmet legal":                    1,
		"i dont think a loose helmet is legal":             1,
		"no one has ever flagged a loose helmet, is it ok": 1,
		"his helmet isnt loose, legal?":                    0,
		"i dont think his helmet is loose":                 0,
	} {
		if v, ok := read(r.Read(text, "en"), loose); !ok || v.Lo != want {
			t.Errorf("%q: got loose %v %v, want %d", text, v.Lo, ok, want)
		}
	}
}

func TestLeftBehind(t *testing.T) {
	r := gearWords(t)
	for text, want := range map[string]bool{
		"he left a cup at home":           true,
		"he took his cup off":             true,
		"he wont take his cup off":        false,
		"he left early, his cup at home?": false,
	} {
		if got := r.Read(text, "en").Has("ask:without"); got != want {
			t.Errorf("%q: got without %v, want %v", text, got, want)
		}
	}
}
