package bot

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"sidewall/answers/book"
)

// Form is what somebody fills in, in a view of a platform that has such
// (Former). What was filled in comes back through Bot.Submit.
type Form struct {
	ID     string // comes back as Filled.Form
	Keep   string // comes back as Filled.Keep; nobody else reads it
	Send   string // the label of what sends it
	Fields []Field
}

// Field is one text of a form.
type Field struct {
	ID, Label, Hint, Value string
	Long                   bool // of several lines
	Most                   int  // characters, as the strictest reader counts them
	Optional               bool
}

// Former is an adapter that can show a view with a form. Opens says whether it
// can answer an event with one: some need a press or a command for it.
type Former interface{ Opens(e *Event) bool }

// Filled is a form that somebody sent.
type Filled struct {
	Event  Event // who sent it: Kind is Pressed, ID what the platform gives each use
	Form   string
	Keep   string
	Fields map[string]string
}

// Outcome is what becomes of a form: Wrong says what is wrong with its fields, by
// their ids, and it stays open; View takes its place; neither closes it.
type Outcome struct {
	Wrong map[string]string
	View  *View
}

// The forms there are.
const (
	formSummary = "summary"
	formNew     = "new"
	formValue   = "value"
	formPublish = "publish"
)

// fieldMost is the longest text of one field that every platform takes.
const fieldMost = 3000

// kept is what a form keeps of where it was opened and what it showed.
type kept struct {
	Summary  string `json:"s,omitempty"`
	Hash     string `json:"h,omitempty"`
	Draft    string `json:"d,omitempty"`
	Channel  string `json:"c,omitempty"`
	Thread   string `json:"t,omitempty"`
	Direct   bool   `json:"m,omitempty"`
	Back     string `json:"b,omitempty"`
	Lang     string `json:"l,omitempty"`
	Question string `json:"q,omitempty"`
}

func (k kept) String() string {
	raw, _ := json.Marshal(k) // strings and a bool always marshal
	return string(raw)
}

func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:6])
}

// pieces are a summary's text cut before each of its sections, so that together
// they are the text again.
func pieces(s *book.Summary) []string {
	lines := strings.SplitAfter(s.Body, "\n")
	var out []string
	start := 0
	for _, c := range s.Sections {
		at := c.Line - s.BodyLine
		if c.Heading == "" || at <= start || at >= len(lines) {
			continue
		}
		out = append(out, strings.Join(lines[start:at], ""))
		start = at
	}
	out = append(out, strings.Join(lines[start:], ""))
	if len(out) > 1 && strings.TrimSpace(out[0]) == "" { // blank lines before the first heading
		out[1] = out[0] + out[1]
		out = out[1:]
	}
	return out
}

// summaryForm shows a summary section by section; nil where one is too long.
func summaryForm(s *book.Summary, _ string, w *editWords) *Form {
	f := &Form{ID: formSummary, Keep: kept{Summary: s.ID, Hash: hashOf(s.Body)}.String(), Send: w.formSend}
	for i, p := range pieces(s) {
		p = strings.TrimSpace(p)
		label, _, _ := strings.Cut(p, "\n")
		label = strings.TrimLeft(label, "# ")
		if label == "" || !strings.HasPrefix(p, "#") {
			label = w.formText
		}
		if units(p) > fieldMost {
			return nil
		}
		f.Fields = append(f.Fields, Field{ID: fmt.Sprintf("s%d", i), Label: cutTo(label, labelRunes), Value: p, Long: true, Most: fieldMost, Optional: true})
	}
	const mostFields = 60
	if len(f.Fields) > mostFields {
		return nil
	}
	f.Fields = append(f.Fields, Field{ID: "add", Label: w.formAdd, Hint: w.formAddHint, Long: true, Most: fieldMost, Optional: true})
	return f
}

// units counts as the strictest reader does: an emoji is two.
func units(s string) int {
	n := 0
	for _, r := range s {
		if n++; r > 0xFFFF {
			n++
		}
	}
	return n
}

func newForm(title string, questions []string, w *editWords) *Form {
	asked := strings.Join(questions, "\n")
	for units(asked) > fieldMost {
		questions = questions[:len(questions)-1]
		asked = strings.Join(questions, "\n")
	}
	return &Form{ID: formNew, Keep: kept{}.String(), Send: w.formSend, Fields: []Field{
		{ID: "title", Label: w.formTitle, Value: cutTo(tidy(title), 100), Most: 100},
		{ID: "text", Label: w.formText, Long: true, Most: fieldMost},
		{ID: "asked", Label: w.formAsked, Value: asked, Long: true, Most: fieldMost, Optional: true},
	}}
}

func valueForm(w *editWords) *Form {
	return &Form{ID: formValue, Keep: kept{}.String(), Send: w.formSend, Fields: []Field{
		{ID: "saying", Label: w.formSaying, Hint: w.valueHow, Most: 1000},
	}}
}

// title is what stands above a form.
func (f *Form) title(w *editWords) string {
	switch f.ID {
	case formNew:
		return w.formNew
	case formValue:
		return w.formValue
	}
	return w.formEdit
}

// open puts where a form is opened into what it keeps.
func (f *Form) open(e *Event, lang string) {
	var k kept
	_ = json.Unmarshal([]byte(f.Keep), &k) // it is our own
	k.Channel, k.Thread, k.Direct, k.Back, k.Lang = e.Channel, e.where().Thread, e.Direct, e.Back, lang
	f.Keep = k.String()
}

// Submit takes in a form that was sent. It answers at once, since whoever sent it
// looks at it; publishing itself is an event like any other.
func (b *Bot) Submit(ctx context.Context, f Filled) (Outcome, error) {
	if b.closed.Load() {
		return Outcome{}, ErrClosed
	}
	if b.adapters[f.Event.Platform] == nil {
		return Outcome{}, fmt.Errorf("take a form in: there is no adapter for %q", f.Event.Platform)
	}
	var k kept
	if err := json.Unmarshal([]byte(f.Keep), &k); err != nil || b.editing == nil {
		return Outcome{}, nil // none of ours
	}
	w := editWordsOf(k.Lang)
	e := f.Event
	e.Kind, e.Channel, e.Thread, e.Direct, e.Back = Pressed, k.Channel, k.Thread, k.Direct, k.Back
	e.Of = "form/" + f.Form
	note := func(text string) Outcome {
		return Outcome{View: &View{Kind: Modal, Key: e.Key(), Event: e, Where: e.where(), Lang: k.Lang, Title: w.formEdit, Blocks: []Block{{Text: text}}}}
	}
	person := b.people.hash(e.Person)
	if !b.isAdmin(&e) {
		b.log.Warn("refused", "what", "change the book", "person", person, "key", e.Key())
		return note(w.onlyAdmins), nil
	}
	who := e.Platform + ":" + e.Person
	if f.Form == formPublish {
		if why := tidy(f.Fields["why"]); why != "" && readable(why) {
			if err := b.editing.because(ctx, k.Draft, who, cutTo(why, longLine)); err != nil {
				return Outcome{}, err
			}
		}
		e.Control = "publish:" + k.Draft
		return Outcome{}, b.Handle(ctx, e)
	}
	// It goes on where it takes longer than its sender can wait: the draft is kept.
	type result struct {
		t     *Told
		wrong map[string]string
		err   error
	}
	done := make(chan result, 1)
	b.forms.Go(func() {
		ctx, cancel := context.WithTimeout(b.ctx, b.o.Deadline)
		defer cancel()
		var r result
		r.t, r.wrong, r.err = b.editing.filled(ctx, f, k, asked{who: who, key: e.Key(), lang: k.Lang})
		done <- r
	})
	var r result
	select {
	case r = <-done:
	case <-ctx.Done():
		return Outcome{Wrong: map[string]string{f.first(): w.formSlow}}, nil
	}
	t, wrong, err := r.t, r.wrong, r.err
	switch {
	case err != nil:
		return Outcome{}, err
	case len(wrong) > 0:
		return Outcome{Wrong: wrong}, nil
	}
	v := &View{Kind: Modal, Key: e.Key(), Event: e, Where: e.where(), Lang: k.Lang, Title: t.title, Blocks: t.Blocks}
	if len(t.Blocks) == 0 {
		v.Title, v.Blocks = w.formEdit, []Block{{Heading: t.Headline, Text: linesOf(t)}}
	}
	if id, ok := strings.CutPrefix(controlOf(t, "publish:"), "publish:"); ok {
		k.Draft, k.Summary, k.Hash = id, "", ""
		v.Form = &Form{ID: formPublish, Keep: k.String(), Send: w.publish,
			Fields: []Field{{ID: "why", Label: w.formWhy, Hint: w.formWhyHint, Most: 200, Optional: true}}}
	}
	return Outcome{View: v}, nil
}

func linesOf(t *Told) string {
	var out []string
	for _, l := range t.Lines {
		out = append(out, l.Text)
	}
	return strings.Join(out, "\n")
}

func controlOf(t *Told, prefix string) string {
	for _, c := range t.Controls {
		if strings.HasPrefix(c.ID, prefix) {
			return c.ID
		}
	}
	return ""
}

// first is the field of a form that stands first.
func (f *Filled) first() string {
	switch f.Form {
	case formNew:
		return "title"
	case formValue:
		return "saying"
	}
	return "s0"
}

// because notes why a draft is wanted, where it is the person's own.
func (e *Editing) because(ctx context.Context, id, who, why string) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	d, err := e.draft(ctx, id, who)
	if err != nil || d == nil || d.By != who || d.State != draftOpen {
		return err
	}
	d.Why = why
	return e.keep(ctx, d)
}

// filled proposes what a form says. wrong is by field.
func (e *Editing) filled(ctx context.Context, f Filled, k kept, a asked) (t *Told, wrong map[string]string, err error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	w := editWordsOf(k.Lang)
	for id, text := range f.Fields {
		switch {
		case !readable(text):
			return nil, map[string]string{id: w.notText}, nil
		case units(text) > fieldMost:
			return nil, map[string]string{id: fmt.Sprintf(w.formLong, fieldMost)}, nil
		}
	}
	var c book.Change
	why := ""
	bk := e.o.Book()
	switch f.Form {
	case formSummary:
		s := summary(bk, k.Summary)
		if s == nil || hashOf(s.Body) != k.Hash {
			return nil, map[string]string{"s0": w.formStale}, nil
		}
		text := body(s, f.Fields)
		if strings.TrimSpace(text) == "" {
			return nil, map[string]string{"s0": w.empty}, nil
		}
		change := book.SummaryText{ID: s.ID, Text: text, Reviewed: e.today()}
		if text == s.Body {
			change.Reviewed = 0
		}
		c = change
	case formNew:
		title := tidy(f.Fields["title"])
		id := slug(title)
		switch {
		case id == "":
			return nil, map[string]string{"title": w.formNoTitle}, nil
		case summary(bk, id) != nil:
			return nil, map[string]string{"title": fmt.Sprintf(w.taken, id)}, nil
		case strings.TrimSpace(f.Fields["text"]) == "":
			return nil, map[string]string{"text": w.empty}, nil
		}
		s := book.NewSummary{ID: id, Title: title, Owner: owner, Reviewed: e.today(), Text: f.Fields["text"]}
		for q := range strings.Lines(f.Fields["asked"]) {
			if q = tidy(q); q != "" {
				s.Questions = append(s.Questions, q)
			}
		}
		c = book.PutSummary{ID: id, Text: s.File()}
	case formValue:
		v, err := bk.SayValue(f.Fields["saying"])
		if err != nil {
			return nil, map[string]string{"saying": upperFirst(err.Error())}, nil
		}
		c, why = v, tidy(f.Fields["saying"])
	default:
		return nil, nil, fmt.Errorf("there is no form %q", f.Form)
	}
	pr, err := e.o.Editor.Propose(ctx, c)
	var bad book.Errors
	switch {
	case errors.As(err, &bad):
		at, said := f.first(), make([]string, 0, len(bad))
		for _, x := range bad[:min(len(bad), shownErrors)] {
			said = append(said, x.Error())
		}
		return nil, map[string]string{at: cutTo(strings.Join(said, "; "), longLine)}, nil
	case errors.Is(err, book.ErrNoChange):
		return nil, map[string]string{f.first(): w.unchanged}, nil
	case err != nil:
		t, err = e.refused(err, k.Lang, w)
		return t, nil, err
	}
	t, err = e.hold(ctx, a, w, why, 0, pr)
	return t, nil, err
}

// body puts a summary's text together again. What nobody touched stays as it was,
// blank lines and all.
func body(s *book.Summary, fields map[string]string) string {
	var b strings.Builder
	put := func(text string) {
		text = strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n"))
		if text == "" {
			return
		}
		if n := b.Len(); n > 0 && !strings.HasSuffix(b.String(), "\n\n") {
			b.WriteString(strings.Repeat("\n", 1+btoi(!strings.HasSuffix(b.String(), "\n"))))
		}
		b.WriteString(text + "\n")
	}
	for i, p := range pieces(s) {
		field, ok := fields[fmt.Sprintf("s%d", i)]
		if !ok || strings.TrimSpace(strings.ReplaceAll(field, "\r\n", "\n")) == strings.TrimSpace(p) {
			if b.Len() > 0 && !strings.HasSuffix(b.String(), "\n\n") && strings.TrimSpace(p) != "" {
				b.WriteByte('\n')
			}
			b.WriteString(p)
			continue
		}
		put(field)
	}
	put(fields["add"])
	return b.String()
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
