package question

import (
	"testing"

	"sidewall/answers/measure"
)

func TestLanding(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{
		"body check que le pega de las rodillas pa abajo":      "act:below-waist",
		"lo carga con el hombro y le da a la altura del muslo": "act:below-waist",
		"body check, le cae abajito del ombligo":               "act:below-waist",
		"le entra con el hombro en el pescuezo":                "act:above-shoulders",
		"le cayo con el cuerpo en los riñones":                 "act:from-behind",
		"le pego en la mera nuca":                              "act:to-head",
		"le dio con el palo en la canilla":                     "act:on-body",
		"le pego en el tilichentre":                            "place:unknown",
		"body check que le da de las costillas para abajo":     "place:unknown",
		"con el palo le dio en el tilichentre":                 "place:unknown",
		"lo carga de frente y le da en el pecho con el hombro": "",
		"le duele la rodilla, trae rodillera":                  "",
		"body check arriba de la cintura":                      "",
		"se pego solo en el chamorro":                          "",
	} {
		q := r.Read(text, "es")
		for _, tag := range [...]string{"act:below-waist", "act:above-shoulders", "act:from-behind", "act:to-head", "act:on-body", "place:unknown"} {
			if tag != want && tag == "act:on-body" {
				continue // the body is what every zone is of
			}
			if got := q.Has(tag); got != (tag == want) {
				t.Errorf("%q: %s is %v", text, tag, got)
			}
		}
	}
}

func TestLandingWords(t *testing.T) {
	if n := len(landingWords()); n < 300 {
		t.Fatalf("%d words read from data/landing.txt", n)
	}
	kinds := map[string]bool{}
	for _, k := range landingWords() {
		kinds[k] = true
	}
	for _, k := range []string{"low", "waist", "head", "neck", "back", "belly", "trunk", "hit", "charge"} {
		if !kinds[k] {
			t.Errorf("no word of %q", k)
		}
	}
}

func TestSmallWords(t *testing.T) {
	r := esRecogniser(t)
	for small, whole := range map[string]string{"abajito": "abajo", "cerquita": "cerca", "guantecitos": "guantes", "casquito": "casco"} {
		for k := range r.Read("el "+whole+" ahi", "es").set {
			if a, b := r.Read("el "+small+" ahi", "es").set[k], r.Read("el "+whole+" ahi", "es").set[k]; b&^a != 0 {
				t.Errorf("%q lacks what %q means", small, whole)
			}
		}
	}
}

func TestShortOf(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{"palo d mi hijo": "de", "a 5 yardas d la bola": "de", "el 2 d mayo": "de", "juega close d en la u13": "d", "su d pole": "d"} {
		q := r.Read(text, "es")
		found := false
		for i := range q.toks {
			found = found || q.wordAt(i, want)
		}
		if !found {
			t.Errorf("%q: no %q in %v", text, want, q.toks)
		}
	}
}

func TestSaidInSpanish(t *testing.T) {
	r := esRecogniser(t)
	for _, c := range []struct {
		text string
		kind Kind
		want int64
	}{
		{"hace 97 afuera", Warmth, 97 * measure.One},
		{"hace como 95 aqui", Warmth, 95 * measure.One},
		{"hace 60 dias", Bare, 60 * measure.One},
		{"dos pulgadas y seis decimas de hondo", Length, 26 * int64(measure.Inch) / 10},
		{"2 pulgadas con 6 decimas de hondo", Length, 26 * int64(measure.Inch) / 10},
		{"mi hijo mide 4 con 9", Length, 57 * int64(measure.Inch)},
		{"esta en quinto, en que division juega", Grade, 5},
	} {
		q := r.Read(c.text, "es")
		if u, ok := q.Only(c.kind); !ok || u.Lo != c.want {
			t.Errorf("%q: %v, want %d", c.text, q.Quantities, c.want)
		}
	}
}

func TestWhoseMeasure(t *testing.T) {
	r := esRecogniser(t)
	for text, role := range map[string]string{
		"el palo de mi chavo mide 46 pulgadas":                           "dim:stick",
		"palo largo pa mi nieto, el pelao mide 5 pies 4, que largo":      "dim:height",
		"palo largo pa mi hijo que es defensa, mide 5 pies 4, que largo": "dim:height",
		"el palo de mi ataque mide 3 pies 8, vale":                       "dim:stick",
	} {
		q := r.Read(text, "es")
		u, ok := q.Only(Length)
		if !ok || u.Role == noTag || q.x.names[u.Role] != role {
			t.Errorf("%q: %v", text, q.Quantities)
		}
	}
}

func TestBoxAlso(t *testing.T) {
	r := esRecogniser(t)
	for text, more := range map[string]int64{
		"ya hay tres en la caja y le pitan falta a un cuarto": 1,
		"tres en la caja y marcan otra falta a otro":          1,
		"tres en la caja en el ultimo cuarto":                 0,
	} {
		q := r.Read(text, "es")
		if b := q.boxCounts(q.Whole()); b.inBox != 3 || b.more != more {
			t.Errorf("%q: %+v", text, b)
		}
	}
}
