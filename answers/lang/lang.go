// Package lang holds the texts of answers, in English and Spanish, as data.
//
// A file is one topic: lines of "key: text with {value} places". A place names a
// fact or value of the answer, with an optional format after a colon:
// {min_s:time}, {player_height_in:feet}, {item:name}.
package lang

import (
	"bytes"
	"embed"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"sidewall/answers/answer"
	"sidewall/answers/measure"
)

//go:embed en es
var data embed.FS

// Languages are those that answers are written in.
var Languages = [...]string{"en", "es"}

type piece struct {
	text   string // literal, or the name of a place
	format string
	place  bool
}

type template []piece

// Texts are all texts of both languages.
type Texts struct {
	in [len(Languages)]map[string]*topicTexts
}

// topicTexts are a topic's texts in one language, read when one is first needed:
// an answer needs those of two topics or three.
type topicTexts struct {
	file string
	once sync.Once
	by   map[string]template
	err  error
}

// Load prepares the texts; they are read when somebody needs them. Check reads all.
func Load() (*Texts, error) {
	t := &Texts{}
	for i, l := range Languages {
		files, err := data.ReadDir(l)
		if err != nil {
			return nil, fmt.Errorf("list texts: %w", err)
		}
		t.in[i] = make(map[string]*topicTexts, len(files))
		all := make([]topicTexts, len(files))
		for k, f := range files {
			all[k].file = l + "/" + f.Name()
			t.in[i][strings.TrimSuffix(f.Name(), ".txt")] = &all[k]
		}
	}
	return t, nil
}

// Check reads all texts, and fails where one is wrong or lacks a language.
func (t *Texts) Check() error {
	for i := range Languages {
		for topic, own := range t.in[i] {
			by, err := own.read()
			if err != nil {
				return err
			}
			other := 1 - i
			for key := range by {
				if _, ok := t.find(Languages[other], topic, key); !ok {
					return fmt.Errorf("text %s/%s has no form in %q", topic, key, Languages[other])
				}
			}
		}
	}
	return nil
}

func (t *topicTexts) read() (map[string]template, error) {
	t.once.Do(func() { t.by, t.err = read(t.file) })
	return t.by, t.err
}

func read(file string) (map[string]template, error) {
	raw, err := fs.ReadFile(data, file)
	if err != nil {
		return nil, fmt.Errorf("read texts: %w", err)
	}
	out := make(map[string]template, bytes.Count(raw, []byte{'\n'}))
	n := 0
	for line := range strings.Lines(string(raw)) {
		n++
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		key, text, ok := strings.Cut(line, ": ")
		if !ok {
			return nil, fmt.Errorf("%s:%d: want \"key: text\"", file, n)
		}
		tpl, err := compile(text)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n, err)
		}
		out[key] = tpl
	}
	return out, nil
}

func compile(s string) (template, error) {
	var out template
	for s != "" {
		i := strings.IndexByte(s, '{')
		if i < 0 {
			out = append(out, piece{text: s})
			break
		}
		if i > 0 {
			out = append(out, piece{text: s[:i]})
		}
		j := strings.IndexByte(s[i:], '}')
		if j < 0 {
			return nil, fmt.Errorf("a { without its }")
		}
		name, format, _ := strings.Cut(s[i+1:i+j], ":")
		out = append(out, piece{text: name, format: format, place: true})
		s = s[i+j+1:]
	}
	return out, nil
}

// Values finds what stands at a place; Name localises an id of the book.
type Values interface {
	Value(name string) (answer.Val, bool)
	Name(id, lang string) string
}

// Has says whether a text exists.
func (t *Texts) Has(lang, topic, key string) bool {
	_, ok := t.find(lang, topic, key)
	return ok
}

func (t *Texts) find(lang, topic, key string) (template, bool) {
	for i, l := range Languages {
		if l != lang {
			continue
		}
		if own := t.in[i][topic]; own != nil {
			by, _ := own.read() // Check tells an error; until then the key shows
			tpl, ok := by[key]
			return tpl, ok
		}
	}
	return nil, false
}

// First is the first of the keys whose places all have a value; "" for none.
func (t *Texts) First(lang, topic string, v Values, keys ...string) string {
next:
	for _, key := range keys {
		tpl, ok := t.find(lang, topic, key)
		if !ok {
			continue
		}
		for i := range tpl {
			if _, ok := v.Value(tpl[i].text); tpl[i].place && !ok {
				continue next
			}
		}
		return key
	}
	return ""
}

// Say writes a text; a missing one shows its key, which a test refuses.
func (t *Texts) Say(lang, topic, key string, v Values) string {
	tpl, ok := t.find(lang, topic, key)
	if !ok {
		if tpl, ok = t.find(lang, "common", key); !ok {
			return "[" + topic + "/" + key + "]"
		}
	}
	if len(tpl) == 1 && !tpl[0].place {
		return tpl[0].text
	}
	var buf [240]byte
	b := buf[:0]
	for i := range tpl {
		if !tpl[i].place {
			b = append(b, tpl[i].text...)
			continue
		}
		val, ok := v.Value(tpl[i].text)
		if !ok {
			b = append(b, '?')
			continue
		}
		b = t.append(b, lang, tpl[i].format, val, v)
	}
	return string(b)
}

func (t *Texts) append(b []byte, lang, format string, val answer.Val, v Values) []byte {
	switch val.Kind {
	case answer.Num:
		return t.number(b, lang, format, val.A)
	case answer.Range:
		if val.A == val.B {
			return t.number(b, lang, format, val.A)
		}
		if format == "time" {
			b = measure.AppendClock(b, int(val.A))
			return measure.AppendClock(append(b, "–"...), int(val.B))
		}
		b = measure.AppendNum(b, val.A)
		b = append(b, "–"...)
		return measure.AppendNum(b, val.B)
	case answer.Text:
		if format == "name" {
			return append(b, v.Name(val.S, lang)...)
		}
		return append(b, val.S...)
	case answer.Bool:
		key := "no"
		if val.A != 0 {
			key = "yes"
		}
		return append(b, t.Say(lang, "common", key, v)...)
	case answer.List:
		for i, s := range val.L {
			if i > 0 {
				b = append(b, ", "...)
			}
			if format == "names" {
				s = v.Name(s, lang)
			}
			b = append(b, s...)
		}
	}
	return b
}

func (t *Texts) number(b []byte, lang, format string, f float64) []byte {
	switch format {
	case "time": // seconds as m:ss
		return measure.AppendClock(b, int(f))
	case "min": // seconds as minutes
		return measure.AppendNum(b, f/60)
	case "feet": // inches as feet and inches
		return append(b, measure.FeetInches(measure.Length(f*float64(measure.Inch)))...)
	}
	return measure.AppendNum(b, f)
}
