package bot

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"sidewall/answers/book"
	"sidewall/answers/measure"
)

// EditOptions are what the keeping of a book is made of.
type EditOptions struct {
	Editor Editor
	Values Values
	Book   func() *book.Book // that serves
	Clock  Clock
	// Admin says whether somebody, named with the platform ("slack:U1"), may.
	Admin   func(who string) bool
	Confirm int // how many admins have to publish a change; 1
}

// Editing keeps a book: it reads what an admin writes, shows what would change,
// and publishes it when that is wanted. Whether somebody is an admin at all is
// asked before. It knows no platform; the bot and the terminal both have one.
type Editing struct {
	o  EditOptions
	mu sync.Mutex // one thing is done at a time: what is kept is read and written back
}

// NewEditing makes the keeping of a book.
func NewEditing(o EditOptions) *Editing {
	if o.Clock == nil {
		o.Clock = realClock{}
	}
	if o.Admin == nil {
		o.Admin = func(string) bool { return true }
	}
	o.Confirm = max(o.Confirm, 1)
	return &Editing{o: o}
}

// Told is what the bot says of the book's keeping: some lines, what can be done
// about it, and where there is more, all of it.
type Told struct {
	Lang     string
	Headline string
	Lines    []Line
	Controls []Control
	Blocks   []Block // all of it, for a view of its own
	Caution  string

	title   string
	view    bool   // the blocks are asked for
	inPlace bool   // it takes the place of what was pressed
	waits   string // a draft that another admin has to see
	form    *Form
	opens   string // the control that opens the form, where the wish does not say it
}

// Text is what is told as plain text.
func (t *Told) Text() string {
	out := []string{t.Headline}
	if t.view && len(t.Blocks) > 0 {
		out[0] = t.title
		for _, b := range t.Blocks {
			out = append(out, "")
			if b.Heading != "" {
				out = append(out, b.Heading)
			}
			out = append(out, strings.TrimSpace(b.Text))
		}
	} else {
		for _, l := range t.Lines {
			out = append(out, "  "+l.Text)
		}
	}
	return strings.Join(out, "\n")
}

// Typed are the controls that are of use where nothing can be filled in.
func (t *Told) Typed() []Control {
	if t.view {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(t.Controls), func(c Control) bool { return strings.HasPrefix(c.ID, "edit:") })
}

func (t *Told) line(format string, args ...any) {
	t.Lines = append(t.Lines, Line{Text: cutTo(tidy(fmt.Sprintf(format, args...)), longLine)})
}

func told(lang, headline string, args ...any) *Told {
	if len(args) > 0 {
		headline = fmt.Sprintf(headline, args...)
	}
	return &Told{Lang: lang, Headline: cutTo(tidy(headline), longLine)}
}

// asked is somebody's wish.
type asked struct {
	*edit
	who  string // with the platform
	key  string // of the event: the same when it is taken up again
	from string // the message it stands in
	said string // a hash of its words
	lang string
	cut  bool // the text was longer than what was taken of it
}

// Ask does what a line asks of the book; nil where it asks nothing of it. It is
// for a terminal: whoever types there is an admin.
func (e *Editing) Ask(ctx context.Context, who, key, text, lang string) (*Told, error) {
	var w *edit
	if !strings.ContainsAny(text, " \t") { // a control that was chosen by its number
		w = readEditControl(text)
	}
	if w == nil {
		w = readEdit(e.o.Book(), text)
	}
	if w == nil || w.kind == editChanges || w.kind == editQuestions || w.kind == editAddAdmin || w.kind == editDropAdmin || w.kind == editAdmins {
		return nil, nil
	}
	if w.kind == editShow && w.summary != nil {
		w.kind = editPage
		w.name = w.summary.ID
	}
	if lang == "" {
		lang = w.lang
	}
	return e.do(ctx, asked{edit: w, who: who, key: key, lang: lang, cut: len(text) > maxText})
}

// do does what is asked. An error is a failure of the machine; whatever is wrong
// with what was asked is told.
func (e *Editing) do(ctx context.Context, a asked) (*Told, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	w := editWordsOf(a.lang)
	if t := e.unfit(a, w); t != nil {
		return t, nil
	}
	switch a.kind {
	case editList:
		return e.list(a, w), nil
	case editShow, editPage:
		return e.show(a, w), nil
	case editOpen:
		if a.summary == nil {
			a.summary, _ = findSummary(e.o.Book(), a.name)
		}
		return e.show(a, w), nil
	case editText, editReplace, editNew, editDelete, editValue:
		return e.change(ctx, a, w)
	case editPublish:
		return e.publish(ctx, a, w)
	case editCancel:
		return e.cancel(ctx, a, w)
	case editDraft, editPending:
		return e.again(ctx, a, w)
	case editDrafts:
		return e.mine(ctx, a, w)
	case editUndo:
		return e.undo(ctx, a, w)
	case editHistory:
		return e.history(ctx, a, w)
	case editBegin:
		dir, err := e.o.Editor.Begin(ctx)
		if err != nil {
			return told(a.lang, w.beginFailed, err), nil
		}
		t := told(a.lang, w.begun, dir)
		t.line("%s", w.begunNext)
		t.inPlace = true
		return t, nil
	}
	return nil, fmt.Errorf("there is nothing to do for a wish of kind %d", a.kind)
}

// unfit says what is wrong with a text as such.
func (e *Editing) unfit(a asked, w *editWords) *Told {
	switch {
	case a.cut:
		return told(a.lang, w.tooLong, maxText)
	case !readable(a.text) || !readable(a.old) || !readable(a.name):
		return told(a.lang, w.notText)
	case a.kind == editText && strings.TrimSpace(a.text) == "":
		return told(a.lang, w.empty)
	}
	return nil
}

// readable says whether a text is one: characters that could not be read come as
// the sign for that, and control characters hide something.
func readable(s string) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool {
		return r == unicode.ReplacementChar || unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t'
	})
}

const listed = 10 // summaries that are named in one reply

func (e *Editing) list(a asked, w *editWords) *Told {
	all := e.o.Book().Summaries
	t := told(a.lang, w.list, len(all))
	if a.name != "" {
		words := contentWords(a.name)
		all = slices.DeleteFunc(slices.Clone(all), func(s *book.Summary) bool {
			in := nameWords(s.ID + " " + s.Title + " " + strings.Join(s.Topics, " ") + " " + strings.Join(s.Divisions, " ") + " " + strings.Join(s.Questions, " "))
			return !slices.ContainsFunc(words, func(w string) bool {
				return slices.ContainsFunc(in, func(o string) bool { return sameWord(o, w) })
			})
		})
		if t = told(a.lang, w.listAbout, a.name, len(all)); len(all) == 0 {
			return told(a.lang, w.listNone, a.name)
		}
	}
	for i, s := range all {
		if i == listed {
			t.line(w.listMore, len(all)-listed)
			break
		}
		t.line("%s — %s", s.ID, s.Title)
		t.Controls = append(t.Controls, Control{"edit:" + s.ID, cutTo(s.Title, labelRunes)})
	}
	t.line("%s", w.listHow)
	return t
}

// unknown says that there is no such summary, and which one may be meant.
func (e *Editing) unknown(a asked, w *editWords) *Told {
	t := told(a.lang, w.noSummary, cutTo(a.name, labelRunes))
	_, near := findSummary(e.o.Book(), a.name)
	var names []string
	for _, s := range near {
		names = append(names, s.ID)
	}
	if len(names) > 0 {
		t.line(w.noSummaryNear, strings.Join(names, ", "))
	}
	return t
}

const shownLines = 8 // of a summary's text in a reply

func (e *Editing) show(a asked, w *editWords) *Told {
	bk := e.o.Book()
	s := a.summary
	if s == nil {
		s, _ = findSummary(bk, a.name)
	}
	if s == nil {
		return e.unknown(a, w)
	}
	t := told(a.lang, "%s (%s)", s.Title, s.ID)
	about := strings.Join(s.Divisions, ", ")
	if about == "" {
		about = strings.Join(bk.Sheet.Divisions, ", ")
	}
	t.line(w.about, about, dateOrDash(s.Reviewed), s.Owner)
	n := 0
	for l := range strings.Lines(s.Body) {
		if l = strings.TrimSpace(l); l == "" {
			continue
		}
		if n++; n > shownLines {
			t.line("…")
			break
		}
		t.line("%s", l)
	}
	t.line(w.changeHow, s.ID, s.ID)
	t.Controls = []Control{{"page:" + s.ID, w.whole}, {"edit:" + s.ID, w.edit}}
	t.title = tidy(s.Title)
	t.Blocks = []Block{{Text: s.Body, Markdown: true}}
	t.view = a.kind == editPage
	if a.kind == editOpen {
		t.form = summaryForm(s, bk.Revision, w)
	}
	return t
}

// change proposes what is asked, and shows what would come of it.
func (e *Editing) change(ctx context.Context, a asked, w *editWords) (*Told, error) {
	if a.kind == editValue && a.text == "" {
		t := told(a.lang, w.valueHow)
		t.form = valueForm(w)
		return t, nil
	}
	if a.kind == editNew && (a.name == "" || strings.TrimSpace(a.text) == "") {
		t := told(a.lang, w.newHow)
		t.form = newForm(a.name, nil, w)
		return t, nil
	}
	c, why, no := e.read(a, w)
	if no != nil {
		return no, nil
	}
	return e.propose(ctx, a, w, why, c)
}

// read makes a change of what is asked; no says why it can't.
func (e *Editing) read(a asked, w *editWords) (c book.Change, why string, no *Told) {
	bk := e.o.Book()
	switch a.kind {
	case editValue:
		v, err := bk.SayValue(a.text)
		if err != nil {
			return nil, "", told(a.lang, "%s", upperFirst(err.Error()))
		}
		return v, tidy(a.text), nil
	case editNew:
		id := slug(a.name)
		if id == "" {
			return nil, "", told(a.lang, w.formNoTitle)
		}
		if summary(bk, id) != nil {
			return nil, "", told(a.lang, w.taken, id)
		}
		s := book.NewSummary{ID: id, Title: tidy(a.name), Owner: owner, Reviewed: e.today(), Text: a.text}
		return book.PutSummary{ID: id, Text: s.File()}, "", nil
	}
	s := a.summary
	if s == nil {
		return nil, "", e.unknown(a, w)
	}
	switch a.kind {
	case editDelete:
		return book.DeleteSummary{ID: s.ID}, "", nil
	case editReplace:
		switch n := strings.Count(s.Body, a.old); {
		case n == 0:
			// Long lines of Markdown are broken anywhere: the words count.
			re := regexp.MustCompile(strings.Join(quoted(strings.Fields(a.old)), `\s+`))
			at := re.FindAllStringIndex(s.Body, 2)
			if len(at) != 1 {
				return nil, "", told(a.lang, w.notFound, s.ID, cutTo(a.old, labelRunes))
			}
			return book.SummaryText{ID: s.ID, Text: s.Body[:at[0][0]] + a.text + s.Body[at[0][1]:]}, "", nil
		case n > 1:
			return nil, "", told(a.lang, w.oftenFound, s.ID, cutTo(a.old, labelRunes), n)
		}
		return book.SummaryText{ID: s.ID, Text: strings.Replace(s.Body, a.old, a.text, 1)}, "", nil
	}
	return book.SummaryText{ID: s.ID, Text: a.text, Reviewed: e.today()}, "", nil
}

func quoted(words []string) []string {
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	return words
}

// owner is who keeps a page that was written from chat; the file can say more.
const owner = "club admins"

func (e *Editing) today() measure.Date { return measure.DateOf(e.o.Clock.Now()) }

// slug is a title as an id.
func slug(title string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(strings.ToLower(title)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’':
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := b.String()
	return strings.Trim(s[:min(len(s), 60)], "-")
}

// propose makes a draft of changes and shows it.
func (e *Editing) propose(ctx context.Context, a asked, w *editWords, why string, cs ...book.Change) (*Told, error) {
	pr, err := e.o.Editor.Propose(ctx, cs...)
	if err != nil {
		return e.refused(err, a.lang, w)
	}
	return e.hold(ctx, a, w, why, 0, pr)
}

// hold keeps a proposal as a draft.
func (e *Editing) hold(ctx context.Context, a asked, w *editWords, why string, undoes int, pr *book.Proposal) (*Told, error) {
	id := draftID(a.key)
	if d, err := e.draft(ctx, id, ""); err != nil {
		return nil, err
	} else if d != nil && d.State != draftOpen { // the event is taken up again, late
		return e.decided(d, a.lang, w), nil
	}
	d := &draft{ID: id, By: a.who, Why: why, What: pr.What, Base: pr.Base, Files: pr.Files, Undoes: undoes, From: a.from, Said: a.said, At: e.o.Clock.Now()}
	if err := e.keep(ctx, d); err != nil {
		return nil, err
	}
	return e.shown(ctx, d, pr, a.lang)
}

const shownErrors = 5

// refused tells what is wrong with a change; an error is the machine's own.
func (e *Editing) refused(err error, lang string, w *editWords) (*Told, error) {
	var wrong book.Errors
	switch {
	case errors.Is(err, ErrNoOwnBook):
		t := told(lang, w.noBook)
		t.line("%s", w.noBookHow)
		t.Controls = []Control{{"begin:", w.begin}}
		return t, nil
	case errors.Is(err, book.ErrNoChange):
		return told(lang, w.unchanged), nil
	case errors.As(err, &wrong):
		t := told(lang, w.wrong)
		for i, x := range wrong {
			if i == shownErrors {
				t.line(w.more, len(wrong)-i)
				break
			}
			t.line("%s", x.Error())
		}
		return t, nil
	}
	return nil, err
}

// decided tells what became of a draft that is open no more.
func (e *Editing) decided(d *draft, lang string, w *editWords) *Told {
	t := told(lang, w.isCancelled)
	if d.State == draftPublished {
		t = told(lang, w.isPublished, d.Number)
	}
	t.inPlace = true
	return t
}

// find is the draft that is meant; t says where there is none to decide on.
func (e *Editing) find(ctx context.Context, a asked, w *editWords) (d *draft, t *Told, err error) {
	d, err = e.draft(ctx, a.name, a.who)
	switch {
	case err != nil:
		return nil, nil, err
	case d == nil && a.name != "":
		return nil, told(a.lang, w.whichDraft, cutTo(a.name, labelRunes)), nil
	case d == nil:
		return nil, told(a.lang, w.noDraft), nil
	case d.State != draftOpen:
		return nil, e.decided(d, a.lang, w), nil
	case !e.o.Admin(d.By):
		d.State, d.Files = draftCancelled, nil
		t = told(a.lang, w.revoked)
		t.inPlace = true
		return nil, t, e.keep(ctx, d)
	}
	return d, nil, nil
}

func (e *Editing) cancel(ctx context.Context, a asked, w *editWords) (*Told, error) {
	d, t, err := e.find(ctx, a, w)
	if t != nil || err != nil {
		return t, err
	}
	d.State, d.Files = draftCancelled, nil
	t = told(a.lang, w.cancelled)
	t.inPlace = true
	return t, e.keep(ctx, d)
}

// again shows the whole of a draft as it stands.
func (e *Editing) again(ctx context.Context, a asked, w *editWords) (*Told, error) {
	d, t, err := e.find(ctx, a, w)
	if t != nil || err != nil {
		return t, err
	}
	pr, _, err := e.resume(ctx, d)
	if err != nil {
		return e.refused(err, a.lang, w)
	}
	t, err = e.shown(ctx, d, pr, a.lang)
	if t != nil {
		t.view = a.kind == editDraft
	}
	return t, err
}

// mine shows the newest of somebody's drafts, and names the others.
func (e *Editing) mine(ctx context.Context, a asked, w *editWords) (*Told, error) {
	all, err := e.drafts(ctx)
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(d *draft) bool { return d.By != a.who || d.State != draftOpen })
	if len(all) == 0 {
		return told(a.lang, w.noDraft), nil
	}
	t := told(a.lang, w.waitsHead, len(all))
	for i, d := range all[max(0, len(all)-listed):] {
		t.line(w.draftsHead, d.ID, d.What)
		if i < 5 {
			t.Controls = append(t.Controls, Control{"draft:" + d.ID, w.show + " " + d.ID}, Control{"publish:" + d.ID, w.publish + " " + d.ID}, Control{"cancel:" + d.ID, w.cancel + " " + d.ID})
		}
	}
	return t, nil
}

func (e *Editing) undo(ctx context.Context, a asked, w *editWords) (*Told, error) {
	pr, err := e.o.Editor.ProposeUndo(ctx, a.number)
	if err != nil {
		var wrong book.Errors
		if ctx.Err() != nil || errors.Is(err, ErrNoOwnBook) || errors.As(err, &wrong) {
			return e.refused(err, a.lang, w)
		}
		return told(a.lang, w.undoOf, err), nil
	}
	undoes := a.number
	if undoes == 0 {
		undoes = -1 // the newest: which one that is the publisher finds again
	}
	return e.hold(ctx, a, w, "", undoes, pr)
}

func (e *Editing) history(ctx context.Context, a asked, w *editWords) (*Told, error) {
	rs, err := e.o.Editor.History(ctx, listed)
	if err != nil {
		return e.refused(err, a.lang, w)
	}
	if len(rs) == 0 {
		return told(a.lang, w.historyNone), nil
	}
	t := told(a.lang, w.history)
	for i, r := range rs {
		t.line(w.historyLine, r.Number, r.At.In(e.o.Clock.Now().Location()).Format("2006-01-02 15:04"), r.By, r.Why)
		if i < 3 {
			t.Controls = append(t.Controls, Control{fmt.Sprintf("undo:%d", r.Number), fmt.Sprintf(w.undo, r.Number)})
		}
	}
	return t, nil
}

// resume makes a draft's proposal anew. moved says what came between, where the
// book has changed since: the proposal is then on the book of now.
func (e *Editing) resume(ctx context.Context, d *draft) (pr *book.Proposal, moved *book.StaleError, err error) {
	if d.Undoes != 0 {
		if pr, err = e.o.Editor.ProposeUndo(ctx, max(d.Undoes, 0)); err == nil && pr.Base != d.Base {
			moved = &book.StaleError{Base: d.Base, Now: pr.Base}
		}
		return pr, moved, err
	}
	pr, err = e.o.Editor.Resume(ctx, d.Base, d.Files)
	if errors.As(err, &moved) {
		pr, err = e.o.Editor.Resume(ctx, moved.Now, d.Files)
	}
	if pr != nil {
		pr.What = d.What
	}
	return pr, moved, err
}

// publish makes a draft the book, once enough admins want it.
func (e *Editing) publish(ctx context.Context, a asked, w *editWords) (*Told, error) {
	d, t, err := e.find(ctx, a, w)
	if t != nil || err != nil {
		return t, err
	}
	if a.why != "" && a.who == d.By {
		d.Why = a.why
	}
	if d.Begun {
		if r, err := e.stood(ctx, d); err != nil || r != nil {
			return e.stands(ctx, a, d, r, err, w)
		}
	}
	pr, moved, err := e.resume(ctx, d)
	if err != nil {
		return e.refused(err, a.lang, w)
	}
	if moved != nil { // nobody has agreed to what it would be now
		d.Base, d.Files, d.Approved, d.Begun = pr.Base, pr.Files, nil, false
		if err := e.keep(ctx, d); err != nil {
			return nil, err
		}
		if t, err = e.shown(ctx, d, pr, a.lang); t != nil {
			t.Lines = append([]Line{{Text: cut(tidy(fmt.Sprintf(w.stale, moved.Error())))}}, t.Lines...)
			t.inPlace = true
		}
		return t, err
	}
	if !slices.Contains(d.Approved, a.who) {
		d.Approved = append(d.Approved, a.who)
	}
	d.Approved = slices.DeleteFunc(d.Approved, func(who string) bool { return !e.o.Admin(who) })
	if len(d.Approved) < e.o.Confirm {
		t := told(a.lang, w.needOther, d.ID)
		t.line(w.stillOf, len(d.Approved), e.o.Confirm)
		t.waits, t.inPlace = d.ID, true
		return t, e.keep(ctx, d)
	}
	d.Begun = true
	if err := e.keep(ctx, d); err != nil {
		return nil, err
	}
	r, err := e.o.Editor.Publish(ctx, pr, book.Note{By: d.signed(), Why: d.Why})
	if r == nil {
		var stale *book.StaleError
		if errors.As(err, &stale) { // at the last moment
			return told(a.lang, w.stale, stale), nil
		}
		return nil, err
	}
	return e.stands(ctx, a, d, r, err, w)
}

// signed is who stands in the history.
func (d *draft) signed() string {
	out := []string{d.By}
	for _, who := range d.Approved {
		if who != d.By {
			out = append(out, who)
		}
	}
	return strings.Join(out, ", ")
}

// stood looks for a draft's publication, after a crash between publishing and
// noting that; nil where it was not published.
func (e *Editing) stood(ctx context.Context, d *draft) (*book.Record, error) {
	rs, err := e.o.Editor.History(ctx, 0)
	if err != nil {
		return nil, err
	}
	for _, r := range rs {
		if r.Base == d.Base && slices.EqualFunc(r.Files, d.Files, func(x, y book.FileChange) bool { return x.File == y.File && sameText(x.After, y.After) }) {
			return r, nil
		}
	}
	return nil, nil
}

func sameText(a, b *string) bool { return a == b || a != nil && b != nil && *a == *b }

// stands notes and tells that a draft is published.
func (e *Editing) stands(ctx context.Context, a asked, d *draft, r *book.Record, err error, w *editWords) (*Told, error) {
	if r == nil {
		return nil, err
	}
	d.State, d.Number, d.Files = draftPublished, r.Number, nil
	if err := e.keep(ctx, d); err != nil {
		return nil, err
	}
	t := told(a.lang, w.published, r.Number, r.Why)
	if err != nil {
		t.line(w.after2, err)
	}
	t.Controls = []Control{{fmt.Sprintf("undo:%d", r.Number), fmt.Sprintf(w.undo, r.Number)}}
	t.inPlace = true
	return t, nil
}
