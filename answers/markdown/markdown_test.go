package markdown_test

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"

	"sidewall/answers/markdown"
	"sidewall/config"
)

// theirs reads the same Markdown with goldmark's own extensions.
var theirs = goldmark.New(goldmark.WithExtensions(extension.Table, extension.Strikethrough)).Parser()

var ours = markdown.NewParser()

// shape writes a document's tree with its texts.
func shape(p parser.Parser, md string) string {
	src := []byte(md)
	var b strings.Builder
	depth := 0
	_ = ast.Walk(p.Parse(text.NewReader(src)), func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			depth--
			return ast.WalkContinue, nil
		}
		fmt.Fprintf(&b, "%*s%s", 2*depth, "", n.Kind())
		switch n := n.(type) {
		case *ast.Text:
			fmt.Fprintf(&b, " %q %v %v", n.Value(src), n.SoftLineBreak(), n.HardLineBreak())
		case *extast.Table:
			fmt.Fprint(&b, n.Alignments)
		case *extast.TableCell:
			fmt.Fprint(&b, n.Alignment)
		}
		b.WriteByte('\n')
		depth++
		return ast.WalkContinue, nil
	})
	return b.String()
}

var samples = []string{
	"| Age | Short |\n|-----|------:|\n| U11 | 37–42 |\n| U13 |\n| U15 | 40–42 | more |\n",
	"a | b\n:-: | :--\nc | d\n\nafter",
	"above\nand above\n| a |\n|---|\n| b |\n",
	"| a | b |\n|---|\n| c |\n",
	"| a |\n|---|---|\n| c |\n",
	"| a `x\\|y` | b \\| c |\n|---|---|\n| `p\\|q\\|r` | ~~no~~ `\\|` |\n",
	"- | a |\n  |---|\n  | b |\n",
	"> | a |\n> |---|\n> | b |\n",
	"\t| a |\n|---|\n",
	"a\n-\nb", "a\n:-\nb", "a |\n|\n", "a\n|-|", "|\n|-|\n|", "||\n|-|\n||\n",
	"~~out~~ ~one~ ~~~three~~~ a~b~c ~~ not ~~ ~~a*b~~c*",
	"# H\n\n| **a** | [l](https://x.example) |\n|--|--|\n| *i* | <b>raw</b> |\n",
}

func compare(t *testing.T, md string) {
	t.Helper()
	if got, want := shape(ours, md), shape(theirs, md); got != want {
		t.Errorf("%q reads\n%s\ngoldmark's own extensions read\n%s", md, got, want)
	}
}

// TestAsGoldmark holds the two extensions against goldmark's own.
func TestAsGoldmark(t *testing.T) {
	for _, md := range samples {
		compare(t, md)
	}
	pages := 0
	err := fs.WalkDir(config.ShippedBook(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".md") {
			return err
		}
		pages++
		raw, err := fs.ReadFile(config.ShippedBook(), name)
		compare(t, string(raw))
		return err
	})
	if err != nil || pages == 0 {
		t.Fatalf("%d pages were read: %v", pages, err)
	}
}

// FuzzAsGoldmark does so with whatever people may write.
func FuzzAsGoldmark(f *testing.F) {
	for _, md := range samples {
		f.Add(md)
	}
	f.Fuzz(func(t *testing.T, md string) { compare(t, md) })
}

func TestHTML(t *testing.T) {
	tests := map[string]string{
		"plain":                       "<p>plain</p>\n",
		"one\ntwo & <b>three</b>":     "<p>one<br>\ntwo &amp; &lt;b&gt;three&lt;/b&gt;</p>\n",
		"<script>alert(1)</script>\n": "&lt;script&gt;alert(1)&lt;/script&gt;\n",
		"~~old~~ **new**":             "<p><del>old</del> <strong>new</strong></p>\n",
		"[x](https://club.example)":   "<p><a href=\"https://club.example\">x</a></p>\n",
		"| a | b |\n|:--|---|\n| c |": "<table>\n<thead>\n<tr>\n<th>a</th>\n<th>b</th>\n</tr>\n</thead>\n<tbody>\n<tr>\n<td>c</td>\n<td></td>\n</tr>\n</tbody>\n</table>\n",
		"| a |\n|---|":                "<table>\n<thead>\n<tr>\n<th>a</th>\n</tr>\n</thead>\n</table>\n",
	}
	for md, want := range tests {
		got, err := markdown.HTML(md)
		if err != nil || got != want {
			t.Errorf("%q renders as %q, %v; want %q", md, got, err, want)
		}
	}
}
