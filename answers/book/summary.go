package book

import (
	"fmt"
	"path"
	"strings"
)

var summaryKeys = []string{"id", "title", "divisions", "topics", "from", "owner", "reviewed", "sources", "questions"}

const fence = "---"

func (l *loader) summaryFile(f *file) *Summary {
	front, body, bodyLine, ok := frontMatter(f)
	if !ok {
		return nil
	}
	f.offset = 1
	root, ok := f.yaml(front)
	if !ok {
		return nil
	}
	base := strings.TrimSuffix(path.Base(f.name), ".md")
	if root.kind == null {
		f.err(1, 1, "the front matter is empty", "write id: "+base+", title, divisions, topics, from, owner, reviewed and sources")
		return nil
	}
	o, ok := f.object(&root, "the front matter of a summary", summaryKeys)
	if !ok {
		return nil
	}
	s := &Summary{File: f.name, Body: body, BodyLine: bodyLine, Line: root.line + f.offset}
	if n := o.need("id", base); n != nil {
		s.ID, s.Line = f.id(n, "id", base), n.line+f.offset
		if l.seen == nil {
			l.seen = map[string]string{}
		}
		switch first, dup := l.seen[s.ID]; {
		case s.ID == "":
		case dup:
			f.bad(n, "write id: "+base, "%s has the id %q already", first, s.ID)
		case s.ID != base:
			f.bad(n, "write id: "+base+", or rename the file to "+s.ID+".md", "the id is %q, but the file is called %s", s.ID, path.Base(f.name))
		}
		l.seen[s.ID] = fmt.Sprintf("%s:%d", f.name, s.Line)
	}
	s.Title = f.word(o.need("title", "what the page is about"), "title", "what the page is about")
	if d := o.get("divisions"); d != nil && !(d.kind == list && len(d.items) == 0) {
		m := l.scope(f, d)
		for i, id := range l.divisions {
			if m.Has(i) {
				s.Divisions = append(s.Divisions, id)
			}
		}
	}
	s.Topics = f.strings(o.get("topics"), "topics", "crosse-length")
	if s.From = firstDay; o.get("from") != nil {
		s.From = f.date(o.get("from"), "from")
	}
	s.Owner = f.word(o.need("owner", "who keeps this page current"), "owner", "who keeps this page current")
	s.Reviewed = f.date(o.need("reviewed", "the day somebody last checked it"), "reviewed")
	for _, w := range f.words(o.get("sources"), "sources", "common-practice") {
		if src := l.source(f, w); src != nil {
			s.Sources = append(s.Sources, src.ID)
		}
	}
	s.Questions = f.strings(o.get("questions"), "questions", "\"What do people ask?\"")
	if strings.TrimSpace(body) == "" {
		f.err(bodyLine-1, 1, "the summary has no text", "write it below the second "+fence)
	}
	s.Sections = sections(body, bodyLine)
	return s
}

// frontMatter takes a summary apart: the YAML between the two fences, and the
// text below with the number of its first line.
func frontMatter(f *file) (front, body string, bodyLine int, ok bool) {
	const fix = "start the file with a line " + fence + ", then id, title, owner and reviewed, then a line " + fence
	first, rest, _ := strings.Cut(f.text, "\n")
	if strings.TrimRight(first, " \t") != fence {
		f.err(1, 1, "the file does not start with its front matter", fix)
		return "", "", 0, false
	}
	for at, no := 0, 2; ; no++ {
		line, more := rest[at:], false
		if i := strings.IndexByte(line, '\n'); i >= 0 {
			line, more = line[:i], true
		}
		if strings.TrimRight(line, " \t") == fence {
			end := at + len(line)
			if more {
				end++
			}
			return rest[:at], rest[end:], no + 1, true
		}
		if !more {
			break
		}
		at += len(line) + 1
	}
	f.err(1, 1, "the front matter that starts here does not end", "write a line "+fence+" below it")
	return "", "", 0, false
}

// sections splits Markdown at its second-level headings; what stands before
// the first of them is a section without a heading. A heading inside a code
// block is text.
func sections(body string, first int) []Section {
	var out []Section
	cur, start, code := Section{Line: first}, 0, ""
	flush := func(end int) {
		text := body[start:end]
		trimmed := strings.TrimLeft(text, "\n")
		if cur.Heading == "" {
			cur.Line += len(text) - len(trimmed)
		}
		cur.Text = strings.TrimSpace(text)
		if cur.Heading != "" || cur.Text != "" {
			out = append(out, cur)
		}
	}
	for at, no := 0, first; at < len(body); no++ {
		line, next := body[at:], len(body)
		if i := strings.IndexByte(line, '\n'); i >= 0 {
			line, next = line[:i], at+i+1
		}
		switch mark := codeFence(line); {
		case code != "":
			if mark != "" && strings.HasPrefix(mark, code) {
				code = ""
			}
		case mark != "":
			code = mark
		case strings.HasPrefix(line, "## "):
			flush(at)
			cur, start = Section{Heading: heading(line), Line: no}, next
		}
		at = next
	}
	flush(len(body))
	return out
}

func heading(line string) string {
	return strings.TrimSpace(strings.TrimRight(strings.TrimSpace(line[3:]), "#"))
}

// codeFence is the run of ``` or ~~~ that starts or ends a code block.
func codeFence(line string) string {
	s := strings.TrimLeft(line, " ")
	if len(line)-len(s) > 3 || len(s) < 3 || s[0] != '`' && s[0] != '~' {
		return ""
	}
	n := 0
	for n < len(s) && s[n] == s[0] {
		n++
	}
	if n < 3 {
		return ""
	}
	return s[:n]
}
