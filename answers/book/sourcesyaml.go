package book

import (
	"slices"
	"strings"

	"sidewall/answers/sheet"
)

var (
	sourcesKeys = []string{"sources"}
	sourceKeys  = []string{"id", "kind", "title", "edition", "rule", "mark", "note"}
	// sourceKinds are the kinds of a source.
	sourceKinds = []string{"published", "common-practice", "from-memory", "own"}
	marks       = []string{"P", "R", "C", "M", "D", "I"}
)

func (l *loader) sourcesFile(f *file) {
	root, ok := f.yaml(f.text)
	if !ok {
		return
	}
	const fix = "write sources: and under it one line a source, such as - {id: own-2027, kind: own, title: the club's decision, mark: I}"
	if root.kind == null {
		f.err(1, 1, "the file is empty", fix)
		return
	}
	o, ok := f.object(&root, sourcesFile, sourcesKeys)
	if !ok {
		return
	}
	n := o.need("sources", "a list")
	if n == nil {
		return
	}
	if n.kind != list || len(n.items) == 0 {
		f.bad(n, fix, "sources is a list, but here is %s", n.what())
		return
	}
	whole := true
	for i := range n.items {
		it := &n.items[i]
		so, ok := f.object(it, "a source", sourceKeys)
		if !ok {
			whole = false
			continue
		}
		idNode := so.need("id", "own-2027")
		s := &sheet.Source{
			ID:      f.id(idNode, "id", "own-2027"),
			Kind:    f.oneOf(so.need("kind", strings.Join(sourceKinds, " or ")), "kind", sourceKinds),
			Title:   f.word(so.need("title", "the title as a reader knows it"), "title", "the title as a reader knows it"),
			Edition: f.word(so.get("edition"), "edition", "\"2024\""),
			Rule:    f.word(so.get("rule"), "rule", "1-6"),
			Mark:    f.oneOf(so.get("mark"), "mark", marks),
			Note:    f.word(so.get("note"), "note", "a text"),
			File:    f.name, Line: it.line,
		}
		if s.ID == "" {
			whole = false
			continue
		}
		if first := l.book.Sources[s.ID]; first != nil {
			f.bad(idNode, "give every source an id of its own", "there are two sources %s, the first in line %d", s.ID, first.Line)
			whole = false
			continue
		}
		l.book.Sources[s.ID] = s
		l.sourceIDs = append(l.sourceIDs, s.ID)
	}
	slices.Sort(l.sourceIDs)
	// Where a source lost its id, complaining of everybody who cites it would
	// only bury the error that matters.
	l.hasSources = whole
}

// oneOf reads a word out of a fixed list.
func (f *file) oneOf(n *node, name string, of []string) string {
	s := f.word(n, name, of[0])
	if s != "" && !slices.Contains(of, s) {
		f.bad(n, choice(s, of), "%q is no %s", s, name)
		return ""
	}
	return s
}

// source finds a cited source.
func (l *loader) source(f *file, n *node) *sheet.Source {
	id := f.word(n, "source", "common-practice")
	s := l.book.Sources[id]
	if s == nil && id != "" && l.hasSources {
		f.bad(n, choice(id, l.sourceIDs)+", or add it to "+sourcesFile, "%s has no source %q", sourcesFile, id)
	}
	return s
}
