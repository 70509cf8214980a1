package book

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"
	kinds "github.com/santhosh-tekuri/jsonschema/v6/kind"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
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
		var ve *jsonschema.ValidationError
		switch err := s.Validate(jsonValue(&root)); {
		case errors.As(err, &ve):
			f.schemaErrors(&root, ve)
		case err != nil:
			f.err(1, 1, err.Error(), "mend the schema "+schemaFiles[of])
		}
	}
	l.errs.sort()
	return l.errs
}

func compile(fsys fs.FS, name string) (*jsonschema.Schema, error) {
	r, err := fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("opening the schema: %w", err)
	}
	defer r.Close()
	doc, err := jsonschema.UnmarshalJSON(r)
	if err != nil {
		return nil, fmt.Errorf("reading the schema: %w", err)
	}
	c := jsonschema.NewCompiler()
	c.UseLoader(noLoader{})
	if err := c.AddResource(name, doc); err != nil {
		return nil, fmt.Errorf("reading the schema: %w", err)
	}
	s, err := c.Compile(name)
	if err != nil {
		return nil, fmt.Errorf("compiling the schema: %w", err)
	}
	return s, nil
}

// noLoader keeps a schema from reading other files or the network.
type noLoader struct{}

func (noLoader) Load(url string) (any, error) {
	return nil, fmt.Errorf("a book's schema stands alone, but this one refers to %s", url)
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

// jsonValue is the tree as encoding/json would give it, with exact numbers.
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
		return json.Number(n.text)
	}
	return n.text
}

// schemaErrors tells what the schema found, at the places in the file.
func (f *file) schemaErrors(root *node, e *jsonschema.ValidationError) {
	if len(e.Causes) > 0 {
		for _, c := range e.Causes {
			f.schemaErrors(root, c)
		}
		return
	}
	at := root
	for _, step := range e.InstanceLocation {
		next := -1
		if at.kind == mapping {
			next = slices.IndexFunc(at.keys, func(k node) bool { return k.text == step })
		} else if i, err := strconv.Atoi(step); err == nil {
			next = i
		}
		if next < 0 || next >= len(at.items) {
			break
		}
		at = &at.items[next]
	}
	if extra, ok := e.ErrorKind.(*kinds.AdditionalProperties); ok && at.kind == mapping {
		for i := range at.keys {
			if slices.Contains(extra.Properties, at.keys[i].text) {
				at = &at.keys[i]
				break
			}
		}
	}
	where := strings.Join(e.InstanceLocation, ".")
	if where == "" {
		where = f.name
	}
	what := e.ErrorKind.LocalizedString(message.NewPrinter(language.English))
	f.bad(at, "see the schema: "+strings.Join(e.ErrorKind.KeywordPath(), "/"), "%s", where+": "+what)
}
