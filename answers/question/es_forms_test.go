package question

import (
	"fmt"
	"testing"

	"sidewall/answers/measure"
)

func esRecogniser(t *testing.T) *Recogniser {
	t.Helper()
	r, err := NewRecogniser(esVocabulary)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestSpanishForms(t *testing.T) {
	r := esRecogniser(t)
	inch, cm := int64(measure.Inch), int64(measure.Centimetre)
	for _, c := range []struct {
		text string
		kind Kind
		want int64
	}{
		{"el palo mide 1 metro con 10", Length, 110 * cm},
		{"el palo mide un metro diez", Length, 110 * cm},
		{"el palo mide 1 metro con 3 centímetros", Length, 103 * cm},
		{"las tiras miden pulgada y media", Length, inch * 3 / 2},
		{"las tiras miden una pulgada y media", Length, inch * 3 / 2},
		{"el reloj decia dos con cuarenta", Clock, 160},
		{"faltando tres y medio del segundo", Clock, 210},
		{"faltando 3 del cuarto", Clock, 180},
		{"un rayo a las cinco menos diez", Clock, (4*60 + 50)},
		{"un rayo a las ocho menos cuarto", Clock, (7*60 + 45)},
		{"a los 8:00 del cuarto", Period, 4},
		{"el palo mide metro doce", Length, 112 * cm},
		{"un rayo a las 5 y 20", Clock, 5*60 + 20},
		{"un rayo a la una y media", Clock, 60 + 30},
		{"un rayo al cuarto para las seis", Clock, 5*60 + 45},
		{"un rayo faltando diez para las cinco", Clock, 4*60 + 50},
		{"un rayo a las 16h20", Clock, 16*60 + 20},
		{"un rayo a las 6.20 pm", Clock, 6*60 + 20},
		{"quedaban 3 minutos 20 segundos del segundo", Clock, 200},
		{"nacio el 3-oct-2015", Day, 20151003},
		{"nacio el 3/oct/2015", Day, 20151003},
		{"nacio el 3 de octubre del 15", Day, 20151003},
	} {
		q := r.Read(c.text, "es")
		u, ok := q.Only(c.kind)
		if !ok || u.Lo != c.want {
			t.Errorf("%q: %v, want %d", c.text, q.Quantities, c.want)
		}
	}
	for _, c := range []struct {
		text string
		kind Kind
	}{
		{"a 1 metro y 2 jugadores", Length}, {"faltando 3 jugadores", Clock}, {"vamos 5 menos 2", Clock}, {"dos con cuarenta goles", Clock},
	} {
		q := r.Read(c.text, "es")
		for _, u := range q.Quantities {
			if u.Kind == c.kind && (c.kind == Clock || u.Lo != int64(measure.Metre)) {
				t.Errorf("%q: read %v", c.text, u)
			}
		}
	}
}

// Feet and inches beside a player are his height, but not where the stick is measured.
func TestSpanishFeet(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{
		"palo de 3 pies 8 para ataque u13": "len:stick", "el palo de mi ataque u13 mide 3 pies 8": "len:stick",
		"que palo le compro a mi defensa de 4 pies 10": "len:height", "mi hijo mide 4 pies 10, que palo le compro": "len:height",
	} {
		if q := r.Read(text, "es"); !q.Has(want) {
			t.Errorf("%q: no %s in %v", text, want, q.Words())
		}
	}
}

func TestShorthand(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{
		"q largo lleva el palo": "que largo lleva el palo", "pq no lo dejan": "porque no lo dejan", "2 x 20 minutos": "2 x 20 minutos",
		"en el q3 los nuestros": "en el q 3 los nuestros",
	} {
		q := r.Read(text, "es")
		got := ""
		for i := range q.toks {
			if i > 0 {
				got += " "
			}
			got += q.toks[i].text
		}
		if got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// A short follow-up is in the language of the conversation.
func TestReadAfter(t *testing.T) {
	r := esRecogniser(t)
	for _, c := range []struct{ text, before, want string }{
		{"sub 15", "es", "es"}, {"y 44", "es", "es"}, {"44?", "es", "es"}, {"44?", "en", "en"}, {"44?", "", "en"},
		{"and is it legal at U13?", "es", "en"}, {"¿y el portero?", "en", "es"},
	} {
		if got := r.ReadAfter(c.text, "", c.before).Lang; got != c.want {
			t.Errorf("%q after %q: %s, want %s", c.text, c.before, got, c.want)
		}
	}
}

func TestBirthdays(t *testing.T) {
	r := esRecogniser(t)
	for _, c := range []struct{ text, lang, want string }{
		{"cumple el 20 de octubre y es del 2016", "es", "2016-10-20"},
		{"cumplio 12 el 20 de enero de 2027", "es", "2015-01-20"},
		{"he turned 12 on January 20 2027", "en", "2015-01-20"},
		{"nacio el 20 de enero de 2015", "es", "2015-01-20"},
		{"es del 2016, la prueba es el 20 de octubre", "es", ""},
	} {
		q := r.Read(c.text, c.lang)
		v, ok := q.Fill([]Want{{Name: "it", Read: BirthDate()}}, q.Whole(), nil).Get("it")
		got := ""
		if ok && v.Lo == v.Hi {
			got = measure.Date(v.Lo).String()
		}
		if got != c.want {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}

func TestSameYear(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]int64{"no perdon, 31 de agosto, mismo año": 20150831, "31 de agosto": 20150831, "el mismo año": 0} {
		v, _ := r.Read(text, "es").SameYear(20150901)
		if v.Lo != want {
			t.Errorf("%q: %d, want %d", text, v.Lo, want)
		}
	}
}

// A negation that belongs to a thing or a verb says nothing of the position.
func TestDenies(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]string{
		"puede jugar sin guantes un portero": "goalkeeper", "no puede usar casco el portero": "goalkeeper", "no es portero": "field", "es portero": "goalkeeper",
	} {
		q := r.Read(text, "es")
		if got := q.Position(q.Whole()); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
}

// Things in passing give way to a clear topic; alone they are talk.
func TestPassing(t *testing.T) {
	r := esRecogniser(t)
	for _, c := range []struct {
		text    string
		outside bool
	}{
		{"pese la bola en la bascula de la cocina y marco 150 gramos, vale?", false},
		{"hace 98 F con 40% de humedad, lo cancelo?", false},
		{"me pasas el whatsapp del coach?", true},
		{"cancelaron?", true},
		{"quien gano el partido?", true},
		{"mi hija juega, que palo le compro?", true},
		{"como lavo las hombreras?", false},
	} {
		q := r.Read(c.text, "es")
		if _, got := q.Outside(q.Topics()); got != c.outside {
			t.Errorf("%q: outside %v, want %v", c.text, got, c.outside)
		}
	}
}

// Corrections are the same in every process, whatever the order of a map.
func TestRespell(t *testing.T) {
	for range 5 {
		r := esRecogniser(t)
		if q := r.Read("el bucal trasparente vale?", "es"); !q.Has("color:clear") {
			t.Fatal(fmt.Sprint(q.Words()))
		}
	}
}

func TestSealed(t *testing.T) {
	r := esRecogniser(t)
	q := r.Read("la bola queda pareja con el borde de abajo del costado", "es")
	if !q.Has("ball:level") || q.Has("ball:below") {
		t.Error(q.Words())
	}
	q = r.Read("la bola queda abajo del costado", "es")
	if !q.Has("ball:below") {
		t.Error(q.Words())
	}
}

func TestFeltAfter(t *testing.T) {
	r := esRecogniser(t)
	for text, want := range map[string]int64{"102 de sensacion termica": 102, "95 grados, sensacion termica 104": 104} {
		q := r.Read(text, "es")
		v, ok := q.Fill([]Want{{Name: "it", Read: HeatIndexSaid()}}, q.Whole(), nil).Get("it")
		if !ok || v.Lo/measure.One != want && v.Lo != want*int64(measure.DegreeF) {
			t.Errorf("%q: %v, want %d", text, v, want)
		}
	}
}
