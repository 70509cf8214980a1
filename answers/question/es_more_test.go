package question

import (
	"testing"

	"sidewall/answers/measure"
)

func TestSpanishPeriodsAndSticks(t *testing.T) {
	r := esRecogniser(t)
	for _, c := range []struct {
		text string
		kind Kind
		want int64
	}{
		{"ultimo cuarto y ganamos por once", Period, 4},
		{"ganamos 15 a 2 en el ultimo cuarto", Period, 4},
		{"a 2:15 del cuarto tiempo", Period, 4},
		{"en el segundo tiempo", Half, 2},
		{"palo de 1.30 para ataque", Length, 130 * int64(measure.Centimetre)},
	} {
		q := r.Read(c.text, "es")
		if u, ok := q.Only(c.kind); !ok || u.Lo != c.want {
			t.Errorf("%q: %v, want %d", c.text, q.Quantities, c.want)
		}
	}
}

func TestBareMidfield(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{
		"u13, medio, palo de 41":              "midfield",
		"que palo para medio u15?":            "midfield",
		"y el medio?":                         "midfield",
		"mi medio sub quince":                 "midfield",
		"la cabeza de mi medio de la sub 13":  "midfield",
		"paso por el medio":                   "",
		"la tira al medio":                    "",
		"cuanto dura el medio tiempo":         "",
		"mide una pulgada y medio":            "",
		"el medio de la cancha":               "",
		"mi portero no trae gola":             "goalkeeper",
		"el arquero no usa coderas, u11, va?": "goalkeeper",
	} {
		q := r.Read(text, "es")
		if got := q.Position(q.Whole()); got != want {
			t.Errorf("%q: position %q, want %q", text, got, want)
		}
	}
}

func TestLevelWithTheEdge(t *testing.T) {
	r := esRecogniser(t)
	for text, below := range map[string]bool{
		"la bola queda al ras con el filo de abajo de la pared": false,
		"la bola queda pareja con la orilla inferior":           false,
		"la bola no baja del borde":                             false,
		"la bola queda por debajo de la pared":                  true,
		"no queda al ras, queda por debajo de la pared":         true,
	} {
		q := r.Read(text, "es")
		if got := q.Has("ball:below"); got != below {
			t.Errorf("%q: below %v, want %v", text, got, below)
		}
	}
}

func TestOtherHalfAndTotals(t *testing.T) {
	r := esRecogniser(t)
	q := r.Read("7 en nuestra mitad defensiva y 2 del otro lado", "es")
	if v, _, ok := OffensiveHalf()(q, q.Whole()); !ok || v.Lo != 2*measure.One {
		t.Errorf("offensive half %v %v, want 2", v, ok)
	}
	for text, want := range map[string]int64{
		"dos defensas con palo largo y un medio con otro largo, los tres adentro": 3,
		"dos palos largos y un medio con otro largo":                              3,
		"dos palos largos en la cancha":                                           2,
	} {
		q := r.Read(text, "es")
		if v, _, ok := TallyOf("stick:long", "count:total")(q, q.Whole()); !ok || v.Lo != want*measure.One {
			t.Errorf("%q: %v %v, want %d", text, v.Lo/measure.One, ok, want)
		}
	}
}
