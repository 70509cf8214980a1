package question

// Kind is what a quantity measures.
type Kind uint8

// The kinds of quantities.
const (
	Bare    Kind = iota // a number alone
	Length              // nanometres
	Span                // milliseconds
	Clock               // seconds left in a period, or a time of day
	Weight              // nanograms
	Warmth              // thousandths of °F
	Humid               // thousandths of a percent
	Day                 // a date, or the first and last day that it may mean
	Age                 // whole years
	Grade               // school grade, kindergarten is 0
	Ordinal             // "3rd"
	Period              // period number; overtime is OvertimePeriod
	Half                // half number
	Jersey              // a jersey number
	Pair                // two numbers with a dash or "to" between: a score or a range
	Season              // the year of a spring season
	Percent = Humid
)

// OvertimePeriod stands for "in overtime" where the number of periods is not known yet.
const OvertimePeriod = 100

// Clock styles: how a time was written, so that an answer can be written alike.
const (
	StylePlain uint8 = iota // 6:12, no more said
	StyleAM
	StylePM
	Style24 // 18:12
)

// Quantity is a number with its kind and the words that it came from.
type Quantity struct {
	Kind       Kind
	Lo, Hi     int64 // base units; equal but for ranges
	Unit       Tag   // the unit's tag; -1 where none was written
	Style      uint8
	Neg        bool // a minus sign stood before it
	start, end int  // tokens
	Role       Tag  // what it is a measure of ("dim:height"), -1 where nothing says
	used       bool
	feet       bool  // written as feet and inches
	word       bool  // written in words
	partDay    int16 // a day without its year, as month*100 + day
	ofDay      bool  // a clock that can only be a time of day
}

const noTag Tag = -1

// quantities reads every quantity of the question, left to right.
func (q *Question) quantities() {
	for i := 0; i < len(q.toks); {
		if end, ok := q.quantityAt(i); ok {
			if end <= i {
				end = i + 1
			}
			i = end
			continue
		}
		if h := q.hitAt[i]; h >= 0 && q.hits[h].start == i {
			end := q.hits[h].end
			if end-1 > i && end < len(q.toks) && (q.isNum(end) || q.Lang == "es" && q.wordOf(end, gNum)) && q.wordOf(end-1, gUnder) {
				end-- // "un medio u15": the phrase has taken the u
			}
			if end-1 > i && q.Lang == "es" && q.wordAt(end-1, "ultimo") {
				end-- // "en el último cuarto", likewise
			}
			i = end
			continue
		}
		i++
	}
}

func (q *Question) push(u Quantity) { q.Quantities = append(q.Quantities, u) }

func (q *Question) quantityAt(i int) (int, bool) {
	for _, read := range [...]func(*Question, int) (int, bool){
		(*Question).division, (*Question).jersey, (*Question).spanishClock, (*Question).dayClock, (*Question).clock, (*Question).spanishDate, (*Question).date,
		(*Question).grade, (*Question).age, (*Question).period, (*Question).feetInches, (*Question).metres, (*Question).unitAndHalf, (*Question).measured,
	} {
		if end, ok := read(q, i); ok {
			return end, true
		}
	}
	return i, false
}
