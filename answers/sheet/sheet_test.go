package sheet

import (
	"testing"

	"sidewall/answers/measure"
)

func value(text string) Value { return Value{Kind: Word, Words: []string{text}, Text: text} }

// Division 0 is U9, 1 is U11, 2 is HS; layer 0 is under layer 1.
func testSheet() *Sheet {
	return New([]Layer{{ID: "low"}, {ID: "high"}}, []string{"U9", "U11", "HS"}, nil, []*Record{
		{Topic: "t", Key: "k", Layer: 0, Divisions: 7, Positions: AllPositions, From: 20100101, Value: value("low")},
		{Topic: "t", Key: "k", Layer: 0, Divisions: 7, Positions: AllPositions, From: 20200101, Value: value("low, later")},
		{Topic: "t", Key: "k", Layer: 1, Divisions: 3, Positions: AllPositions, From: 20150101, Value: value("high")},
		{Topic: "t", Key: "k", Layer: 1, Divisions: 1, Positions: AllPositions, From: 20140101, Until: 20181231, Value: value("high, narrow")},
		{Topic: "t", Key: "k", Layer: 1, Divisions: 1, Positions: Goalkeeper, From: 20140101, Value: Value{Kind: Barred, Text: "none"}},
		{Topic: "t", Key: "other", Layer: 1, Divisions: 7, Positions: AllPositions, From: 20100101, Value: value("other")},
	})
}

func TestLookup(t *testing.T) {
	s := testSheet()
	for _, c := range []struct {
		division, position string
		on                 measure.Date
		want, replaced     string
	}{
		{"HS", "attack", 20091231, "", ""},
		{"HS", "attack", 20100101, "low", ""},
		{"HS", "attack", 20191231, "low", ""},
		{"HS", "attack", 20200101, "low, later", "low"},
		// The higher layer wins from its first day on, though the lower one is newer.
		{"U11", "attack", 20141231, "low", ""},
		{"U11", "attack", 20210101, "high", "low, later"},
		// The narrower scope wins though the wider one is newer, and until is inclusive.
		{"U9", "attack", 20140601, "high, narrow", "low"},
		{"U9", "attack", 20181231, "high, narrow", "high"},
		{"U9", "attack", 20190101, "high", "low"},
		// An explicit none wins like a value, and lets nothing shine through.
		{"U9", "goalkeeper", 20181231, "none", "high, narrow"},
		{"U9", "goalkeeper", 20190101, "none", "high"},
		{"U11", "goalkeeper", 20190101, "high", "low"},
	} {
		d, p := s.DivisionIndex(c.division), PositionIndex(c.position)
		win, replaced := s.Lookup("t", "k", d, p, c.on)
		text := func(r *Record) string {
			if r == nil {
				return ""
			}
			return r.Value.Text
		}
		if text(win) != c.want || text(replaced) != c.replaced {
			t.Errorf("%s %s on %s: %q replaces %q, want %q and %q", c.division, c.position, c.on, text(win), text(replaced), c.want, c.replaced)
		}
		trace := s.Trace("t", "k", d, p, c.on)
		if win == nil != (len(trace) == 0) || len(trace) > 0 && trace[0] != win || len(trace) > 1 && trace[1] != replaced {
			t.Errorf("%s %s on %s: the trace does not start with the winner", c.division, c.position, c.on)
		}
	}
	if win, _ := s.Lookup("t", "nothing", 0, 0, 20200101); win != nil {
		t.Errorf("a key that is not there: %v", win)
	}
	if got := s.Records("t", "other")[0].Basis(); got != "t: other" {
		t.Errorf("basis %q", got)
	}
	if n := len(s.All()); n != 6 {
		t.Errorf("%d records", n)
	}
}

func TestLookupDoesNotAllocate(t *testing.T) {
	s := testSheet()
	if n := testing.AllocsPerRun(100, func() { s.Lookup("t", "k", 0, 3, 20200101) }); n > 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestPositionMask(t *testing.T) {
	for name, want := range map[string]Mask{"attack": 1, "midfield": 2, "defense": 4, "goalkeeper": 8, "field": 7, "": 15} {
		if got, ok := PositionMask(name); got != want || !ok {
			t.Errorf("%q: %b, %v", name, got, ok)
		}
	}
	if _, ok := PositionMask("keeper"); ok {
		t.Error("keeper is no position of a sheet")
	}
	if PositionIndex("field") != -1 || PositionIndex("goalkeeper") != 3 {
		t.Error("field is not a single position")
	}
}

func TestTexts(t *testing.T) {
	if got := (Text2{EN: "club", ES: "el club"}).In("es"); got != "el club" {
		t.Error(got)
	}
	if got := (Text2{EN: "club"}).In("es"); got != "club" {
		t.Error(got)
	}
	if got := (&Source{Title: "A book", Edition: "2024", Rule: "1-6"}).String(); got != "A book, 2024, 1-6" {
		t.Error(got)
	}
}
