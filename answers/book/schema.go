package book

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/google/jsonschema-go/jsonschema"
)

// schemaFiles are the JSON Schemas of a book, by what they describe.
var schemaFiles = map[string]string{
	bookFile:    "book.schema.json",
	sourcesFile: "sources.schema.json",
	sheetDir:    "sheet.schema.json",
}

// CheckSchemas compares a book's YAML files with their JSON Schemas, which
// schemas holds at its root (book.schema.json and so on), and checks that each
// file names its schema in its first lines, so that editors can complete it.
// Load checks more and does it faster; this tells a club whether the schemas
// that its editor uses agree.
func CheckSchemas(fsys, schemas fs.FS) Errors {
	l := &loader{fsys: fsys}
	compiled := map[string]*jsonschema.Schema{}
	for of, name := range schemaFiles {
		s, err := compile(schemas, name)
		if err != nil {
			l.errs = append(l.errs, &Error{File: path.Join("schema", name), What: err.Error(), Fix: "take the schema that `sidewall book new` writes"})
			continue
		}
		compiled[of] = s
	}
	names, err := l.files()
	if err != nil {
		l.errs = append(l.errs, &Error{File: ".", What: err.Error()})
		return l.errs
	}
	for _, name := range names {
		of := name
		if path.Dir(name) != "." {
			of = path.Dir(name)
		}
		s := compiled[of]
		if s == nil {
			continue
		}
		f, ok := l.read(name)
		if !ok {
			continue
		}
		f.namesSchema(schemaFiles[of])
		root, ok := f.yaml(f.text)
		if !ok {
			continue
		}
		c := &schemaCheck{file: f, root: s, resolved: map[*jsonschema.Schema]*jsonschema.Resolved{}}
		c.check(s, &root, nil)
	}
	l.errs.sort()
	return l.errs
}

func compile(fsys fs.FS, name string) (*jsonschema.Schema, error) {
	raw, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, fmt.Errorf("opening the schema: %w", err)
	}
	s := &jsonschema.Schema{}
	if err := json.Unmarshal(raw, s); err != nil {
		return nil, fmt.Errorf("reading the schema: %w", err)
	}
	if _, err := s.Resolve(nil); err != nil { // without a loader it stands alone: no file, no network
		return nil, fmt.Errorf("compiling the schema: %w", err)
	}
	return s, nil
}

// namesSchema looks for the comment by which editors find the schema.
func (f *file) namesSchema(schema string) {
	up := ""
	if path.Dir(f.name) != "." {
		up = "../"
	}
	want := "# yaml-language-server: $schema=" + up + "schema/" + schema
	if first := f.line(1); first != want {
		f.err(1, 1, "the first line does not name the file's schema", "write "+want)
	}
}

// jsonValue is the tree as encoding/json would give it.
func jsonValue(n *node) any {
	switch n.kind {
	case null:
		return nil
	case quoted:
		return n.text
	case list:
		out := make([]any, len(n.items))
		for i := range n.items {
			out[i] = jsonValue(&n.items[i])
		}
		return out
	case mapping:
		out := make(map[string]any, len(n.keys))
		for i := range n.keys {
			out[n.keys[i].text] = jsonValue(&n.items[i])
		}
		return out
	}
	switch n.text {
	case "true", "false":
		return n.text == "true"
	}
	if isNumber(n.text) && !strings.ContainsAny(n.text, "/+ ") {
		if x, err := strconv.ParseFloat(n.text, 64); err == nil {
			return x
		}
	}
	return n.text
}

// schemaCheck finds all that a schema has against a file. The library tells the
// first fault of a value and not where it is, so each part is checked by itself:
// a fault belongs to the smallest part that has one.
type schemaCheck struct {
	file     *file
	root     *jsonschema.Schema
	resolved map[*jsonschema.Schema]*jsonschema.Resolved
}

// check reports what is wrong with n, and says whether anything is.
func (c *schemaCheck) check(s *jsonschema.Schema, n *node, where []string) bool {
	if name, ok := strings.CutPrefix(s.Ref, "#/$defs/"); ok && c.root.Defs[name] != nil {
		s = c.root.Defs[name]
	}
	err := c.validate(s, n)
	if err == nil {
		return false
	}
	inside := false
	for i := range n.items {
		part, step := s.Items, strconv.Itoa(i)
		if n.kind == mapping {
			step = n.keys[i].text
			if part = s.Properties[step]; part == nil {
				part = s.AdditionalProperties
			}
			if part != nil && part.Not != nil { // "additionalProperties: false" is "not anything"
				c.tell(&n.keys[i], append(where, step), "the schema knows no such key")
				inside = true
				continue
			}
		}
		if part != nil && c.check(part, &n.items[i], append(where, step)) {
			inside = true
		}
	}
	if inside {
		// What an object lacks shows beside what is wrong in it.
		if n.kind == mapping {
			for _, k := range s.Required {
				if !slices.ContainsFunc(n.keys, func(key node) bool { return key.text == k }) {
					c.tell(n, where, "required: "+strconv.Quote(k)+" is missing")
				}
			}
		}
		return true
	}
	c.tell(n, where, c.fault(s, n, err))
	return true
}

// plainNumbers takes off what the library adds to whole numbers.
var plainNumbers = strings.NewReplacer("/1 is", " is", ".000000", "")

// fault is what the library said, without the schemas that it passed on the way.
func (c *schemaCheck) fault(s *jsonschema.Schema, n *node, err error) string {
	what := err.Error()
	if i := strings.LastIndex(what, "validating "); i >= 0 {
		_, what, _ = strings.Cut(what[i:], ": ")
	}
	if len(s.OneOf) == 0 || !strings.HasPrefix(what, "oneOf") {
		return plainNumbers.Replace(what)
	}
	var each []string // the library would print the schemas
	for _, form := range s.OneOf {
		if name, ok := strings.CutPrefix(form.Ref, "#/$defs/"); ok && c.root.Defs[name] != nil {
			form = c.root.Defs[name]
		}
		if err := c.validate(form, n); err != nil {
			each = append(each, c.fault(form, n, err))
		}
	}
	return "it has none of the forms that the schema allows: " + strings.Join(each, "; ")
}

func (c *schemaCheck) validate(s *jsonschema.Schema, n *node) error {
	r := c.resolved[s]
	if r == nil {
		whole := *s
		whole.Defs = c.root.Defs
		var err error
		if r, err = whole.CloneSchemas().Resolve(nil); err != nil {
			return fmt.Errorf("resolving the schema: %w", err)
		}
		c.resolved[s] = r
	}
	if err := r.Validate(jsonValue(n)); err != nil {
		return fmt.Errorf("validating %w", err)
	}
	return nil
}

func (c *schemaCheck) tell(n *node, where []string, what string) {
	at := strings.Join(where, ".")
	if at == "" {
		at = c.file.name
	}
	c.file.bad(n, "see the schema", "%s", at+": "+what)
}
