package book

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"sidewall/answers/measure"
)

// Change is something that an admin wants of a book: PutSummary, SummaryText,
// DeleteSummary, PutValue, SetSeason. Changes are plain data; Propose works them in.
type Change interface {
	fmt.Stringer
	// edit works the change into the files; its errors are Errors.
	edit(d *draft) error
	// check looks at the book that came of it.
	check(from, to *Book) error
}

// draft is a book's files on the way to a proposal.
type draft struct {
	fsys  fs.FS
	book  *Book // as it stands
	files map[string]*string
}

// text is a file as the changes before left it; nil where there is none.
func (d *draft) text(name string) (*string, error) {
	if s, ok := d.files[name]; ok {
		return s, nil
	}
	return readText(d.fsys, name)
}

func (d *draft) put(name, text string) { d.files[name] = &text }

// parse reads a file that is about to be edited.
func (d *draft) parse(name string) (*edited, error) {
	raw, err := d.text(name)
	if err != nil {
		return nil, Errors{{File: name, What: err.Error(), Fix: "make it a file that this program may read"}}
	}
	if raw == nil {
		return nil, Errors{{File: name, What: "the book has no such file", Fix: "name one that it has"}}
	}
	e := &edited{errs: new(Errors), raw: *raw}
	e.file = newFile(name, *raw, e.errs)
	e.reader = new(plainReader)
	return e, nil
}

// edited is a file whose text is changed in places; everything else of it stays
// as it is, comments and the order of its lines above all.
type edited struct {
	*file
	errs *Errors
	raw  string
}

// failed is everything that was wrong in reading the file.
func (e *edited) failed() error {
	if len(*e.errs) == 0 {
		e.err(1, 1, "this cannot be changed from here", "change it in the file")
	}
	e.errs.sort()
	return *e.errs
}

// stored is a new text as the file is stored: with its byte order mark and its
// kind of line breaks.
func (e *edited) stored(text string) string {
	if strings.Contains(e.raw, "\r\n") {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	if strings.HasPrefix(e.raw, "\uFEFF") {
		text = "\uFEFF" + text
	}
	return text
}

// lineStart is where a line begins, from 1; the end of the text for one past the last.
func (e *edited) lineStart(n int) int {
	at := 0
	for ; n > 1; n-- {
		i := strings.IndexByte(e.file.text[at:], '\n')
		if i < 0 {
			return len(e.file.text)
		}
		at += i + 1
	}
	return at
}

// scalar is where a scalar stands in the text.
func (e *edited) scalar(n *node) (start, end int, ok bool) {
	text := e.file.text
	start = e.lineStart(n.line + e.offset)
	for range n.col - 1 {
		if start >= len(text) {
			return 0, 0, false
		}
		_, w := utf8.DecodeRuneInString(text[start:])
		start += w
	}
	switch n.kind {
	case plain:
		end = start + len(n.text)
		return start, end, end <= len(text) && text[start:end] == n.text
	case quoted:
		if start >= len(text) || text[start] != '"' && text[start] != '\'' {
			return 0, 0, false
		}
		q := text[start]
		for end = start + 1; end < len(text) && text[end] != '\n'; end++ {
			switch {
			case q == '"' && text[end] == '\\':
				end++
			case text[end] != q:
			case q == '\'' && end+1 < len(text) && text[end+1] == q:
				end++
			default:
				return start, end + 1, true
			}
		}
	}
	return 0, 0, false
}

// replace writes other scalars in the place of some, and gives the whole text.
func (e *edited) replace(nodes []*node, with []string) (string, error) {
	text := e.file.text
	// From the last to the first, so that places before stay where they are.
	type span struct {
		start, end int
		text       string
	}
	var spans []span
	for i, n := range nodes {
		start, end, ok := e.scalar(n)
		if !ok {
			e.bad(n, "write it as one word on one line", "this cannot be changed from here")
			return "", e.failed()
		}
		spans = append(spans, span{start, end, with[i]})
	}
	for len(spans) > 0 {
		last := 0
		for i := range spans {
			if spans[i].start > spans[last].start {
				last = i
			}
		}
		s := spans[last]
		text = text[:s.start] + s.text + text[s.end:]
		spans = append(spans[:last], spans[last+1:]...)
	}
	return e.stored(text), nil
}

// quote writes a text as YAML reads it back, on one line.
func quote(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if isID(s) && !digits(s) && s != "none" && s != "true" && s != "false" && s != "null" {
		return s
	}
	if !strings.ContainsAny(s, `"\`) {
		return `"` + s + `"`
	}
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}

func summaryFile(id string) (string, error) {
	name := path.Join(summariesDir, id+".md")
	if !isID(id) {
		return "", Errors{{File: summariesDir, What: fmt.Sprintf("%q is no id for a summary", id), Fix: "use letters, digits, -, _ and . only, such as first-stick"}}
	}
	return name, nil
}

// clean ends a text with one line break, and its lines as a book ends them.
func clean(text string) string {
	return strings.TrimRight(lineBreaks.Replace(text), "\n \t") + "\n"
}

// PutSummary writes a summary's whole file, front matter and all: a new one, or
// in the place of the old one.
type PutSummary struct{ ID, Text string }

func (c PutSummary) String() string { return "summary " + c.ID + " written" }

func (c PutSummary) edit(d *draft) error {
	name, err := summaryFile(c.ID)
	if err != nil {
		return err
	}
	d.put(name, clean(c.Text))
	return nil
}

func (c PutSummary) check(_, _ *Book) error { return nil }

// SummaryText replaces the text below a summary's front matter, which stays as
// it is but for the day of the review.
type SummaryText struct {
	ID, Text string
	Reviewed measure.Date // 0 leaves it
}

func (c SummaryText) String() string { return "text of summary " + c.ID + " replaced" }

func (c SummaryText) edit(d *draft) error {
	name, err := summaryFile(c.ID)
	if err != nil {
		return err
	}
	e, err := d.parse(name)
	if err != nil {
		return err
	}
	front, body, _, ok := frontMatter(e.file)
	if !ok {
		return e.failed()
	}
	text := strings.TrimSuffix(e.file.text, strings.TrimLeft(body, "\n"))
	if c.Reviewed != 0 {
		e.offset = 1
		root, ok := e.yaml(front)
		if !ok {
			return e.failed()
		}
		o, ok := e.object(&root, "the front matter of a summary", summaryKeys)
		n := o.get("reviewed")
		if !ok || n == nil {
			return e.failed()
		}
		start, end, ok := e.scalar(n)
		if !ok {
			e.bad(n, "write it as one word on one line", "this cannot be changed from here")
			return e.failed()
		}
		text = text[:start] + c.Reviewed.String() + text[end:]
	}
	d.put(name, e.stored(text+strings.TrimLeft(clean(c.Text), "\n")))
	return nil
}

func (c SummaryText) check(_, _ *Book) error { return nil }

// DeleteSummary takes a summary out of the book.
type DeleteSummary struct{ ID string }

func (c DeleteSummary) String() string { return "summary " + c.ID + " deleted" }

func (c DeleteSummary) edit(d *draft) error {
	name, err := summaryFile(c.ID)
	if err != nil {
		return err
	}
	if old, err := d.text(name); err != nil || old == nil {
		var ids []string
		for _, s := range d.book.Summaries {
			ids = append(ids, s.ID)
		}
		return Errors{{File: name, What: "the book has no such summary", Fix: choice(c.ID, ids)}}
	}
	d.files[name] = nil
	return nil
}

func (c DeleteSummary) check(_, _ *Book) error { return nil }

// NewSummary is what a summary's file begins as.
type NewSummary struct {
	ID, Title, Owner   string
	Divisions, Topics  []string
	Sources, Questions []string
	Reviewed           measure.Date
	Text               string
}

// FreeID is an id for a new summary, made of its title or of a question that it is
// to answer; no summary of the book has it.
func (b *Book) FreeID(title string) string {
	const most = 40
	id := ""
	for _, w := range sayWords(plainLetters(title)) {
		if id != "" && len(id)+len(w) >= most {
			break
		}
		id += "-" + w
	}
	id = strings.Trim(id, "-")
	if len(id) > most {
		id = id[:most]
	}
	if !isID(id) {
		id = "page"
	}
	taken := func(id string) bool {
		return slices.ContainsFunc(b.Summaries, func(s *Summary) bool { return strings.EqualFold(s.ID, id) })
	}
	out := id
	for n := 2; taken(out); n++ {
		out = fmt.Sprintf("%s-%d", id, n)
	}
	return out
}

// plainLetters leaves the letters and digits of ASCII; accents and apostrophes go,
// everything else parts words.
func plainLetters(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\'' || r == '’' || unicode.Is(unicode.Mn, r):
			return -1
		case r < utf8.RuneSelf && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			return r
		}
		return ' '
	}, norm.NFD.String(s))
}

// File is the summary as a file, for PutSummary.
func (s NewSummary) File() string {
	var b strings.Builder
	row := func(key, value string) { fmt.Fprintf(&b, "%s: %s\n", key, value) }
	many := func(key string, values []string) {
		qs := make([]string, len(values))
		for i, v := range values {
			qs[i] = quote(v)
		}
		row(key, "["+strings.Join(qs, ", ")+"]")
	}
	b.WriteString(fence + "\n")
	row("id", s.ID)
	row("title", quote(s.Title))
	many("divisions", s.Divisions)
	many("topics", s.Topics)
	row("owner", quote(s.Owner))
	row("reviewed", s.Reviewed.String())
	many("sources", s.Sources)
	if len(s.Questions) > 0 {
		b.WriteString("questions:\n")
		for _, q := range s.Questions {
			b.WriteString("  - " + quote(q) + "\n")
		}
	}
	b.WriteString(fence + "\n\n")
	b.WriteString(clean(s.Text))
	return b.String()
}

// SetSeason writes the season's name and days into book.yaml.
type SetSeason struct {
	Name     string
	From, To measure.Date
}

// NextSeason is the season of a year by the days of the book's own.
func (b *Book) NextSeason(year int) (SetSeason, error) {
	by := year - b.Season.To.Year()
	if by < 1 || by > 20 {
		return SetSeason{}, fmt.Errorf("the book's season is %s, which ends on %s; write a year after it, such as %d", b.Season.Name, b.Season.To, b.Season.To.Year()+1)
	}
	return SetSeason{Name: fmt.Sprint(year), From: b.Season.From.AddYears(by), To: b.Season.To.AddYears(by)}, nil
}

func (c SetSeason) String() string {
	return "season " + c.Name + ", " + c.From.String() + " to " + c.To.String()
}

func (c SetSeason) edit(d *draft) error {
	e, err := d.parse(bookFile)
	if err != nil {
		return err
	}
	root, ok := e.yaml(e.file.text)
	if !ok {
		return e.failed()
	}
	o, ok := e.object(&root, bookFile, bookKeys)
	if !ok {
		return e.failed()
	}
	n := o.need("season", "")
	if n == nil {
		return e.failed()
	}
	s, ok := e.object(n, "season", seasonKeys)
	name, from, to := s.need("name", ""), s.need("from", ""), s.need("to", "")
	if !ok || name == nil || from == nil || to == nil {
		return e.failed()
	}
	text, err := e.replace([]*node{name, from, to}, []string{`"` + c.Name + `"`, c.From.String(), c.To.String()})
	if err != nil {
		return err
	}
	d.put(bookFile, text)
	return nil
}

func (c SetSeason) check(_, to *Book) error {
	if to.Season != Season(c) {
		return Errors{{File: bookFile, What: "the season came out as " + to.Season.Name + ", " + to.Season.From.String() + " to " + to.Season.To.String(), Fix: "write the season's dates in the file"}}
	}
	return nil
}
