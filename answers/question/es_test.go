package question

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
)

// esVocabulary is a book's naming of divisions, for the tests of the Spanish words.
var esVocabulary = Vocabulary{Divisions: []Division{
	{ID: "U9", Under: 9, Band: 8}, {ID: "U11", Under: 11, Band: 10}, {ID: "U13", Under: 13, Band: 12}, {ID: "U15", Under: 15, Band: 14},
	{ID: "HS", Aliases: []string{"high school", "hs", "prepa"}},
}}

type corpusLine struct{ ID, Q, Thread string }

func corpusLines(t *testing.T, name string) []corpusLine {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "questions", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []corpusLine
	sc := bufio.NewScanner(f)
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var l corpusLine
		if err := json.Unmarshal(sc.Bytes(), &l); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out = append(out, l)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	if len(out) == 0 {
		t.Fatalf("%s holds no question", name)
	}
	return out
}

// TestLanguageOfCorpora reads the language of every question; what goes on with
// a thread may be too short to tell ("y 4?").
func TestLanguageOfCorpora(t *testing.T) {
	r, err := NewRecogniser(esVocabulary)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"es.jsonl": "es", "en-gear.jsonl": "en", "en-game.jsonl": "en"} {
		for _, l := range corpusLines(t, name) {
			if got := r.Read(l.Q, "").Lang; got != want && l.Thread == "" {
				t.Errorf("%s: language %s of %q", l.ID, got, l.Q)
			}
		}
	}
}

// TestSpanishWordsKnown bounds the words of the Spanish questions that no lexicon has.
func TestSpanishWordsKnown(t *testing.T) {
	r, err := NewRecogniser(esVocabulary)
	if err != nil {
		t.Fatal(err)
	}
	words := 0
	unknown := map[string]int{}
	for _, l := range corpusLines(t, "es.jsonl") {
		q := r.Read(l.Q, "es")
		for i := range q.toks {
			if q.toks[i].kind != wordToken {
				continue
			}
			words++
			if q.hitAt[i] < 0 {
				unknown[q.toks[i].text]++
			}
		}
	}
	n := 0
	for _, c := range unknown {
		n += c
	}
	if n*100 > words { // one in a hundred
		t.Errorf("%d of %d words are unknown: %v", n, words, unknown)
	}
}

func TestSpanishQuantities(t *testing.T) {
	r, err := NewRecogniser(esVocabulary)
	if err != nil {
		t.Fatal(err)
	}
	inches := func(thousandths int64) int64 { return thousandths * 25400 }
	for _, c := range []struct {
		text   string
		kind   Kind
		lo, hi int64
	}{
		{"un palo de cuarenta y cinco pulgadas", Length, inches(45000), inches(45000)},
		{"mide 42 pulgadas y media", Length, inches(42500), inches(42500)},
		{"doce pulgadas y cuarto", Length, inches(12250), inches(12250)},
		{"siete pulgadas y tres cuartos", Length, inches(7750), inches(7750)},
		{"mide cinco pies con dos pulgadas", Length, inches(62000), inches(62000)},
		{"ciento catorce centímetros", Length, 1140000000, 1140000000},
		{"a tres pasos de la bola", Length, inches(54000), inches(108000)},
		{"un minuto y medio en la caja", Span, 90000, 90000},
		{"30 segundos de castigo", Span, 30000, 30000},
		{"nació el 3 de octubre de 2015", Day, 20151003, 20151003},
		{"nació el 1ro de mayo del 2014", Day, 20140501, 20140501},
		{"tiene 9 añitos", Age, 9, 9},
		{"va en cuarto grado", Grade, 4, 4},
		{"está en 4to de primaria", Grade, 4, 4},
		{"va en segundo de secundaria", Grade, 8, 8},
		{"en el tercer cuarto", Period, 3, 3},
		{"en la segunda mitad", Half, 2, 2},
		{"hace 32 grados", Warmth, 32000, 32000},
		{"60 por ciento de humedad", Humid, 60000, 60000},
	} {
		q := r.Read(c.text, "es")
		found := false
		for _, u := range q.Quantities {
			found = found || u.Kind == c.kind && u.Lo == c.lo && u.Hi == c.hi
		}
		if !found {
			t.Errorf("%q: want kind %d, %d to %d; have %+v", c.text, c.kind, c.lo, c.hi, q.Quantities)
		}
	}
}

func TestSpanishDivisions(t *testing.T) {
	r, err := NewRecogniser(esVocabulary)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"menores de 11": "U11", "menores de once años": "U11", "sub 13": "U13", "sub-15": "U15", "la U9": "U9", "de 10U": "U11",
		"11 años y menores": "U11", "los de la prepa": "HS",
	} {
		q := r.Read(text, "es")
		if len(q.divs) != 1 || esVocabulary.Divisions[q.divs[0].index].ID != want {
			t.Errorf("%q: want %s, have %+v", text, want, q.divs)
		}
	}
}
