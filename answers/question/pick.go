package question

import (
	"slices"
	"strings"

	"sidewall/answers/measure"
)

// Thresholds of the topic scores: below Enough no topic is likely; two topics
// within Close of each other are a toss-up.
const (
	Enough = 5
	sure   = 6 // what one clause needs to be a question of its own

	surelyAsked  = 16 // what a question of the game needs, likewise
	surelySafety = 12 // what a matter of safety needs to be answered whatever else is spoken of

	sureCarried = 9 // likewise, where "it" stands for what was said before
)

// askBonus is how much more the topic of the clause that asks counts.
const askBonus = 6

// Part is one thing that is asked: its topic, and the span of words that asks it.
type Part struct {
	Topic  string
	Sum    int
	Second string // the runner-up
	Gap    int    // how far behind it is
	Scope  Scope
	Whole  bool // the scope is the whole question
	Follow bool // it goes on with the thread's topic
	Cued   int  // what its hand-written cues alone came to

	Division int    // where parts are one for each division: its index plus one
	Item     string // where parts are one for each item
}

// Topics finds what is asked about: one part, or several where the question
// asks two things. None has an empty list.
func (q *Question) Topics() []Part {
	var buf [32]Score
	whole := q.scores(q.Whole(), &q.set, buf[:0])
	var cbuf [12]Scope
	clauses := q.asking(q.clauses(cbuf[:0]))
	var parts []Part
	last := -1 // the last clause that asks and has a topic
	if q.mentions("ask:each", q.Whole()) {
		if each := q.each(); len(each) > 1 {
			return each
		}
	}
	if len(clauses) > 1 {
		var pbuf [12]Part
		tops := pbuf[:0]
		for _, c := range clauses {
			set := q.tagsIn(c.start, c.end)
			var sbuf [32]Score
			sc := q.scores(c, &set, sbuf[:0])
			asks := q.asksIn(c, &set)
			if (len(sc) == 0 || sc[0].Sum < sure) && asks && c.start > 0 && q.pointsBack(c) {
				q.carry(&set, c.start)
				sc = q.scores(c, &set, sbuf[:0])
				if len(sc) > 0 && (sc[0].Sum < sureCarried || len(tops) > 0 && sc[0].Topic == tops[len(tops)-1].Topic) {
					continue
				}
			}
			if len(sc) == 0 || sc[0].Sum < sure || !asks && !(c.end < len(q.toks) && q.adds(c.end)) {
				continue
			}
			p := part(sc)
			p.Scope = c
			tops = append(tops, p)
		}
		if len(tops) > 0 {
			last = len(tops) - 1
		}
		distinct := false
		for i := 1; i < len(tops); i++ {
			distinct = distinct || tops[i].Topic != tops[0].Topic && !oneMatter(tops[i].Topic, tops[0].Topic)
		}
		if distinct {
			for i := range tops {
				if i > 0 && tops[i].Topic == tops[i-1].Topic {
					continue
				}
				parts = append(parts, tops[i])
			}
			if len(parts) > 1 {
				return parts
			}
		}
		if last >= 0 { // the clause that asks counts more than the story around it
			for i := range whole {
				if whole[i].Topic == tops[last].Topic {
					whole[i].Sum += askBonus
				}
			}
			sortScores(whole)
		}
	}
	if len(whole) == 0 || whole[0].Sum < Enough {
		return nil
	}
	p := part(whole)
	p.Scope, p.Whole = q.Whole(), true
	p.Cued = q.cued(p.Topic)
	return append(parts[:0], p)
}

// Speaks says whether anything in the question speaks for a topic.
func (q *Question) Speaks(topic string) bool { return q.cued(topic) > 0 }

// pointsBack says whether a clause speaks of what was said before it.
func (q *Question) pointsBack(c Scope) bool {
	for i := c.start; i < c.end; i++ {
		switch q.toks[i].text {
		case "it", "that", "those", "them", "this", "its", "eso", "esos", "esas", "ese", "esa", "lo", "la":
			return true
		}
	}
	return false
}

// carry adds what "it" may stand for: the fouls, acts and things before a token.
func (q *Question) carry(set *tagSet, before int) {
	for k := range q.hits {
		h := &q.hits[k]
		if h.end > before || h.negated {
			continue
		}
		for _, t := range h.tags {
			n := q.x.names[t]
			for _, prefix := range [...]string{"foul:", "act:", "stick", "thing:", "item:"} {
				if strings.HasPrefix(n, prefix) {
					set.add(t)
				}
			}
		}
	}
}

// cued is what the hand-written cues of a topic come to for the whole question.
func (q *Question) cued(topic string) int {
	var sums [maxTopics]int32
	q.r.cueSums(&q.set, sums[:len(q.r.topics)])
	for i, t := range q.r.topics {
		if t.name == topic {
			return int(sums[i])
		}
	}
	return 0
}

// each finds the things that "are both ok?" asks about: every stretch between
// "and"s, commas and sentence ends that is of a topic by itself.
func (q *Question) each() []Part {
	var parts []Part
	start := 0
	add := func(end int) {
		s := Scope{start, end}
		set := q.tagsIn(s.start, s.end)
		var sbuf [32]Score
		sc := q.scores(s, &set, sbuf[:0])
		if len(sc) == 0 || sc[0].Sum < sure {
			return // it goes on with the next stretch
		}
		start = end
		if n := len(parts); n > 0 && parts[n-1].Topic == sc[0].Topic {
			parts[n-1].Scope.end = end
			return
		}
		p := part(sc)
		p.Scope = s
		parts = append(parts, p)
	}
	for i := 1; i < len(q.toks); i++ {
		if q.toks[i].sent != q.toks[i-1].sent || q.connector(i) && q.toks[i].text != "-" {
			add(i)
		}
	}
	add(len(q.toks))
	if n := len(parts); n > 0 && start < len(q.toks) { // what is left has no topic of its own
		parts[n-1].Scope.end = len(q.toks)
	}
	return parts
}

// oneMatter says whether two topics are asked as one: a hit and how far from the
// ball it was.
func oneMatter(a, b string) bool {
	return a == "contact-distance" && b == "body-check" || a == "body-check" && b == "contact-distance"
}

func part(sc []Score) Part {
	p := Part{Topic: sc[0].Topic, Sum: sc[0].Sum, Gap: sc[0].Sum}
	if len(sc) > 1 {
		p.Second, p.Gap = sc[1].Topic, sc[0].Sum-sc[1].Sum
	}
	return p
}

// Outside says whether the question is about something the book does not speak
// of: other rules (girls', college) settle it wherever they stand; talk about
// other things only where the clause that asks is about them. It gives the parts
// that are left to answer.
func (q *Question) Outside(parts []Part) ([]Part, bool) {
	if q.mentions("scope:out", q.Whole()) {
		return nil, true
	}
	if q.Has("scope:care") { // how to look after a thing: no check, perhaps a summary
		return nil, false
	}
	chat := func(s Scope) bool {
		return q.mentions("scope:chat", s) || q.otherSport(s) && !q.mentions("lax", s) && len(q.Values("item", s)) == 0 || q.mentions("scope:nonsense", s)
	}
	if !chat(q.Whole()) {
		return parts, q.Passing() && (len(parts) == 0 || parts[0].Sum < sure)
	}
	if len(parts) > 0 && parts[0].Cued >= surelySafety && !q.mentions("scope:nonsense", q.Whole()) {
		switch parts[0].Topic {
		case "lightning", "heat":
			return parts, false // "a flash over the parking lot" is no talk about parking
		}
	}
	if len(parts) == 1 && parts[0].Cued >= surelyAsked && !q.mentions("scope:sport", q.Whole()) && !q.mentions("scope:nonsense", q.Whole()) {
		var cbuf [12]Scope
		for _, c := range q.clauses(cbuf[:0]) { // "on sale for 89, a 43 inch stick, is that legal for my U13 middie"
			set := q.tagsIn(c.start, c.end)
			if q.asks(&set) && !chat(c) && set.has(q.x.std.askMay) {
				return parts, false
			}
		}
	}
	var buf [12]Scope
	for _, c := range q.clauses(buf[:0]) {
		set := q.tagsIn(c.start, c.end)
		if chat(c) || !q.asks(&set) || q.mentions("scope:sport", q.sentence(c)) {
			continue
		}
		var sbuf [32]Score
		if sc := q.scores(c, &set, sbuf[:0]); len(sc) > 0 && sc[0].Sum >= sure {
			p := part(sc)
			p.Scope = c
			return []Part{p}, false
		}
	}
	// "Late from my daughter's game. #12 is dizzy, ok to let him play?": the rest
	// after the last such talk is one question.
	after := 0
	for _, c := range q.clauses(buf[:0]) {
		if chat(c) || q.mentions("scope:sport", q.sentence(c)) {
			after = q.sentence(c).end
		}
	}
	if rest := (Scope{after, len(q.toks)}); after > 0 && after < len(q.toks) {
		set := q.tagsIn(rest.start, rest.end)
		var sbuf [32]Score
		if sc := q.scores(rest, &set, sbuf[:0]); q.asks(&set) && len(sc) > 0 && sc[0].Sum >= sure {
			p := part(sc)
			p.Scope = rest
			return []Part{p}, false
		}
	}
	return nil, true
}

// otherSport says whether another sport is spoken of; the helmet of one is a thing
// that people wear here.
func (q *Question) otherSport(s Scope) bool {
next:
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) || h.negated || !q.is(h, "scope:sport") {
			continue
		}
		for m := range q.hits {
			if o := &q.hits[m]; q.is(o, "helmet:other-sport") && o.start <= h.start && o.end >= h.end {
				continue next
			}
		}
		return true
	}
	return false
}

// sentence is the whole sentence that a clause stands in.
func (q *Question) sentence(s Scope) Scope {
	for s.start > 0 && q.toks[s.start-1].sent == q.toks[s.start].sent {
		s.start--
	}
	for s.end < len(q.toks) && q.toks[s.end].sent == q.toks[s.end-1].sent {
		s.end++
	}
	return s
}

// mentions says whether a concept stands in a scope without a negation before it.
func (q *Question) mentions(tag string, s Scope) bool {
	t, ok := q.x.tags[tag]
	if !ok {
		return false
	}
	for k := range q.hits {
		if h := &q.hits[k]; s.holds(h.start, h.end) && !h.negated && contains(h.tags, t) {
			return true
		}
	}
	return false
}

// asks says whether a set of concepts asks something.
func (q *Question) asks(s *tagSet) bool {
	if s.has(q.x.std.qMark) {
		return true
	}
	for _, t := range q.r.askTags {
		if s.has(t) {
			return true
		}
	}
	return false
}

// asksIn says whether a clause asks: by its concepts, or by a verb in front ("is
// it releasable", "do we still get two").
func (q *Question) asksIn(c Scope, set *tagSet) bool {
	if q.asksFor(set) {
		return true
	}
	for i := c.start; i < c.end; i++ {
		switch q.toks[i].text {
		case "is", "are", "do", "does", "did", "will", "would", "should":
			var buf [32]Score
			sc := q.scores(c, set, buf[:0])
			return len(sc) > 0 && sc[0].Sum >= sure || q.mentions("releasable:yes", c) && q.pointsBack(c) // "do they get poles, how many": the rest asks it
		}
		if !q.connector(i) {
			return false
		}
	}
	return false
}

// asksFor is asks without what a story tells as well: "the ref threw a flag", "he
// forgot his gloves".
func (q *Question) asksFor(s *tagSet) bool {
	if s.has(q.x.std.qMark) {
		return true
	}
	for _, t := range q.r.askTags {
		if s.has(t) {
			switch q.x.names[t] {
			case "ask:penalty", "ask:without":
				continue
			}
			return true
		}
	}
	return false
}

// asking joins a clause that asks nothing to the one after it, which asks about
// it, and a last one to the one before.
func (q *Question) asking(cs []Scope) []Scope {
	out := cs[:0]
	for i := 0; i < len(cs); i++ {
		c := cs[i]
		for i+1 < len(cs) {
			set := q.tagsIn(c.start, c.end)
			if q.asksIn(c, &set) {
				break
			}
			if q.adds(cs[i+1].start) { // "sticks at 44 and does he need a cup": the fragment asks too
				var sbuf [32]Score
				if sc := q.scores(c, &set, sbuf[:0]); len(sc) > 0 && sc[0].Sum >= sure {
					break
				}
			}
			i++
			c.end = cs[i].end
		}
		out = append(out, c)
	}
	if n := len(out); n > 1 {
		set := q.tagsIn(out[n-1].start, out[n-1].end)
		if !q.asksIn(out[n-1], &set) {
			out[n-2].end = out[n-1].end
			out = out[:n-1]
		}
	}
	return out
}

// clauses splits the question at sentence ends and at "and", "also", "plus",
// "y", "además" where what follows begins a question of its own.
func (q *Question) clauses(out []Scope) []Scope {
	start := 0
	for i := 1; i < len(q.toks); i++ {
		cut := q.toks[i].sent != q.toks[i-1].sent
		if !cut && q.connector(i) && q.opens(i+1) {
			cut = true
		}
		if cut && i > start {
			out = append(out, Scope{start, i})
			start = i
		}
	}
	if start < len(q.toks) {
		out = append(out, Scope{start, len(q.toks)})
	}
	return out
}

func (q *Question) connector(i int) bool {
	if q.toks[i].kind == markToken {
		return q.toks[i].text == "," || q.toks[i].text == "&" || q.toks[i].text == "+" || q.toks[i].text == "-" && !q.toks[i].glued
	}
	switch q.toks[i].text {
	case "and", "also", "plus", "y", "e", "tambien", "ademas", "then":
		return true
	}
	return false
}

// adds says whether token i is an "and" or "also" that adds a question.
func (q *Question) adds(i int) bool {
	return q.toks[i].kind == wordToken && q.connector(i)
}

// opens says whether the words at i begin a question: a question word or a verb
// that turns a statement into one.
func (q *Question) opens(i int) bool {
	for k := i; k < min(i+3, len(q.toks)); k++ {
		if h := q.hitAt[k]; h >= 0 && q.hits[h].start == k {
			for _, t := range q.hits[h].tags {
				if q.x.info[t].group == gAsk {
					return true
				}
			}
		}
		if k == i {
			switch q.toks[k].text {
			case "if", "si", "is", "are", "do", "does", "did", "should", "would", "will", "how", "what", "when", "can", "may", "must", "who", "which",
				"es", "son", "puede", "pueden", "se", "tiene", "tienen", "hay", "que", "cuanto", "cuantos", "cuando", "cual", "como", "debe":
				return true
			}
			if !q.connector(k) {
				continue
			}
		}
	}
	return false
}

func sortScores(out []Score) {
	for i := 1; i < len(out); i++ { // few entries: insertion sort, no allocation
		for j := i; j > 0 && (out[j].Sum > out[j-1].Sum || out[j].Sum == out[j-1].Sum && out[j].Topic < out[j-1].Topic); j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
}

// TopicScores are the scores of all topics, for explaining.
func (q *Question) TopicScores() []Score { return q.scores(q.Whole(), &q.set, nil) }

// Word is a phrase that was recognised, for explaining.
type Word struct {
	Text    string
	Tags    []string
	Negated bool
	Fixed   bool // after correcting its spelling
}

// Words are the phrases that were recognised.
func (q *Question) Words() []Word {
	var out []Word
	for k := range q.hits {
		h := &q.hits[k]
		w := Word{Negated: h.negated, Fixed: h.fixed}
		for i := h.start; i < h.end; i++ {
			if i > h.start && !q.toks[i].glued {
				w.Text += " "
			}
			w.Text += q.toks[i].text
		}
		for _, t := range h.tags {
			w.Tags = append(w.Tags, q.x.names[t])
		}
		out = append(out, w)
	}
	return out
}

// Cues are the cues of a topic that matched, for explaining.
func (q *Question) Cues(topic string) []string {
	var out []string
	for _, t := range q.r.topics {
		if t.name != topic {
			continue
		}
		for k := range t.cues {
			if t.cues[k].match(&q.set) {
				out = append(out, t.cues[k].text)
			}
		}
	}
	return out
}

// WordCount counts the words of the question.
func (q *Question) WordCount() int {
	n := 0
	for i := range q.toks {
		if q.toks[i].kind == wordToken {
			n++
		}
	}
	return n
}

// TextOf is the text of a quantity, for explaining.
func (q *Question) TextOf(u Quantity) string {
	s := ""
	for i := u.start; i < u.end && i < len(q.toks); i++ {
		if i > u.start && !q.toks[i].glued {
			s += " "
		}
		s += q.toks[i].text
	}
	return s
}

// ofSomebodyElse says whether a division is another's ("a kid on the varsity")
// where the player's own is named too.
func (q *Question) ofSomebodyElse(d mention) bool {
	for k := range q.hits {
		h := &q.hits[k]
		if h.start > d.start || h.end < d.end || !q.is(h, "else:division") {
			continue
		}
		for _, o := range q.divs {
			if o.index != d.index {
				return true
			}
		}
	}
	return false
}

// takenBack says whether the division d is mended by the next one named:
// "can U13s, I mean U11s".
func (q *Question) takenBack(d mention) bool {
	next := len(q.toks)
	for _, o := range q.divs {
		if o.start >= d.end {
			next = min(next, o.start)
		}
	}
	if next == len(q.toks) || next-d.end > 7 {
		return false
	}
	return q.rather(d.end, next)
}

// rather says whether words that mend what was said stand between two tokens.
func (q *Question) rather(from, to int) bool {
	for k := range q.hits {
		if h := &q.hits[k]; h.start >= from && h.end <= to && q.is(h, "story:rather") {
			return true
		}
	}
	return false
}

// Divisions are the indexes of the divisions named in a scope, in order, once each.
func (q *Question) Divisions(s Scope) []int {
	var out []int
next:
	for _, d := range q.divs {
		if !s.holds(d.start, d.end) || q.ofSomebodyElse(d) || q.takenBack(d) {
			continue
		}
		for _, o := range out {
			if o == d.index {
				continue next
			}
		}
		out = append(out, d.index)
	}
	return out
}

// Position is the last position named in a scope; of a position that is denied
// ("not a goalie") only the goalkeeper's leaves something: a field player. Gear
// that is made for a position ("goalie stick") tells it where nothing else does.
func (q *Question) Position(s Scope) string {
	out, denied, hint := "", "", ""
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		of := q.namesStick(h)
		for _, t := range h.tags {
			n := q.x.names[t]
			switch {
			case len(n) > 4 && n[:4] == "pos:" && h.negated && q.denies(k):
				denied = n[4:]
			case len(n) > 4 && n[:4] == "pos:" && of:
				hint = n[4:]
			case len(n) > 4 && n[:4] == "pos:":
				out = n[4:]
			case len(n) > 8 && n[:8] == "poshint:":
				hint = n[8:]
			}
		}
	}
	switch {
	case out != "":
		return out
	case denied == "goalkeeper":
		return "field"
	}
	return hint
}

// namesStick says whether a position names a kind of stick ("his attack stick"),
// and not whoever holds it ("my attackman's stick").
func (q *Question) namesStick(h *hit) bool {
	if q.is(h, "stick") {
		return true
	}
	if h.end != h.start+1 || h.end >= len(q.toks) {
		return false
	}
	switch q.toks[h.start].text {
	case "attack", "defense", "defence", "midfield", "goalkeeper", "goalie":
	default:
		return false
	}
	next := q.hitAt[h.end]
	return next >= 0 && q.hits[next].start == h.end && q.is(&q.hits[next], "stick")
}

// Values are the words of a group of tags in a scope ("item": "rib-pads", …), in
// order, once each.
func (q *Question) Values(group string, s Scope) []string {
	var out []string
	for k := range q.hits {
		h := &q.hits[k]
		if !s.holds(h.start, h.end) {
			continue
		}
		for _, t := range h.tags {
			n := q.x.names[t]
			if len(n) <= len(group)+1 || n[:len(group)] != group || n[len(group)] != ':' {
				continue
			}
			v := n[len(group)+1:]
			if group == "item" && q.isPlace(h) && len(out) > 0 {
				continue // "a chain under the shoulder pads"
			}
			if !slices.Contains(out, v) {
				out = append(out, v)
			}
		}
	}
	return out
}

// isPlace says whether a thing only tells where another one is: "under the pads".
func (q *Question) isPlace(h *hit) bool {
	for i := max(0, h.start-2); i < h.start; i++ {
		switch q.toks[i].text {
		case "under", "underneath", "beneath", "over", "inside", "debajo", "bajo", "encima", "dentro":
			return true
		}
	}
	return false
}

// First is the first quantity of a kind in a scope.
func (q *Question) First(k Kind, s Scope) (Quantity, bool) {
	for _, u := range q.Quantities {
		if u.Kind == k && s.holds(u.start, u.end) {
			return u, true
		}
	}
	return Quantity{}, false
}

// Only is the one quantity of a kind in the question; ok is false where there
// are none or several.
func (q *Question) Only(k Kind) (Quantity, bool) {
	n, at := 0, 0
	for i := range q.Quantities {
		if q.Quantities[i].Kind == k {
			n, at = n+1, i
		}
	}
	if n != 1 {
		return Quantity{}, false
	}
	return q.Quantities[at], true
}

// Asks says whether the question has a question mark or a word that asks.
func (q *Question) Asks() bool { return q.asks(&q.set) }

// Change reads "cuts two inches off", "an inch longer": by how much a length
// changes, in nanometres.
func (q *Question) Change() (int64, bool) {
	for i := range q.Quantities {
		u := &q.Quantities[i]
		if u.Kind == Length && u.Role != noTag && q.x.info[u.Role].value == "change" {
			if q.near(u, "change:add") && !q.near(u, "change:cut") {
				return u.Lo, true
			}
			return -u.Lo, true
		}
	}
	return 0, false
}

// CountTo reads "and if i sneak a third one in": what a number that is known comes to.
func (q *Question) CountTo() (int64, bool) {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if (u.Kind == Ordinal || u.Kind == Period) && u.start > 0 && u.Lo > 1 && u.Lo <= smallBox && q.oneMore(u.start) {
			return u.Lo, true
		}
	}
	return 0, false
}

// NewTotal reads "… so thatd be 5": what the number of a talk comes to, in
// thousandths, where nothing else is counted with it.
func (q *Question) NewTotal() (int64, bool) {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.Kind != Bare || u.Lo != u.Hi || u.Lo%measure.One != 0 || u.Lo > 20*measure.One || u.end < len(q.toks) && q.joins(u.end) {
			continue
		}
		if q.endsAt(u.start, "count:total") {
			return u.Lo, true
		}
	}
	return 0, false
}

// FollowsOn says whether the question is worded as the next one of a talk: "what
// about 3", "and at U13?", "even from the front?".
func (q *Question) FollowsOn() bool {
	if q.Has("follow") {
		return true
	}
	for i := range q.toks {
		switch q.toks[i].text {
		case "ok", "okay", "so", "hm", "hmm", "oh", "wait", "lol", "alright", "bueno", ",":
			continue
		case "and", "but", "even", "same", "y", "pero", "or":
			return true
		}
		return false
	}
	return false
}

// Dated says whether a day, an age or a grade is told.
func (q *Question) Dated() bool {
	for k := range q.Quantities {
		switch q.Quantities[k].Kind {
		case Day, Age, Grade:
			return true
		}
	}
	return false
}

// Relative says whether a number is told as a change of one that is known: 1 for
// "two more", -1 for "2 yards closer", 0 for a number of its own.
func (q *Question) Relative() int64 {
	for k := range q.Quantities {
		u := &q.Quantities[k]
		if u.end >= len(q.toks) || u.Kind != Bare && u.Kind != Length && u.Kind != Span {
			continue
		}
		h := q.hitAt[u.end]
		if h < 0 || q.hits[h].start != u.end {
			continue
		}
		switch {
		case q.is(&q.hits[h], "rel:more"):
			return 1
		case q.is(&q.hits[h], "rel:less"):
			return -1
		}
	}
	return 0
}

// CountChange reads "what if we take one off", "another one just went in": by
// how many a number that is known changes.
func (q *Question) CountChange() (int64, bool) {
	for k := range q.hits {
		switch h := &q.hits[k]; {
		case q.is(h, "count:less"):
			return -1, true
		case q.is(h, "count:more"):
			return 1, true
		}
	}
	return 0, false
}

// near says whether a concept stands within four words of a quantity.
func (q *Question) near(u *Quantity, tag string) bool {
	t, ok := q.x.tags[tag]
	if !ok {
		return false
	}
	for k := range q.hits {
		h := &q.hits[k]
		if contains(h.tags, t) && (h.end <= u.start && u.start-h.end <= 4 || h.start >= u.end && h.start-u.end <= 3) {
			return true
		}
	}
	return false
}
