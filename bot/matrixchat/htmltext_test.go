package matrixchat

import (
	"context"
	"strings"
	"testing"

	"maunium.net/go/mautrix/format"
)

// TestHTMLText holds what clients write against mautrix's own reader of it, which
// the program does not link because of what it costs at the start.
func TestHTMLText(t *testing.T) {
	const pill = `<a href="https://matrix.to/#/%40ann%3Aclub.example">Ann</a>`
	mautrix := format.HTMLParser{
		Newline: "\n", TabsToSpaces: 4, HorizontalLine: "\n",
		PillConverter: func(shown, who, _ string, _ format.Context) string { return shown + "=" + who },
		LinkConverter: func(text, _ string, _ format.Context) string { return text },
	}
	for _, rich := range []string{
		pill + ": is 45 in legal?",
		`<a href="matrix:u/ann:club.example?action=chat">Ann</a>  two   blanks` + "\n and a line",
		"<p>" + pill + " one</p>\n<p>two</p>",
		"a<br>b<br/>c<hr>d",
		"<strong>45</strong> in <em>at</em> <del>U9</del> U11 <u>now</u> <code>x</code>",
		"<h2>H</h2>text<blockquote><p>one<br>two</p></blockquote>after",
		"<ul>\n<li>a</li>\n<li>b<br>c</li>\n</ul>",
		"<p>x</p><ul><li><p>a</p></li><li>b</li></ul><p>y</p>",
		"<ol start=\"3\">\n<li>a</li>\n<li>b</li>\n</ol>",
		"<ul><li>a<ul><li>b</li></ul></li><li>c</li></ul>",
		"<ul><li>a<li>b</ul>",
		"<p>a<p>b<div>c</div>",
		"45 &lt; 47 &amp; 5 &#39; &quot;x&quot; &nbsp;y",
		"45 < 47 in, 3 <b>x",
		"<!-- no -->yes<!-- cut",
		`<img src="mxc://x/y" alt="a sign"> <font color="red">red</font><span data-mx-color=x>s</span>`,
		"<a href='https://club.example/?a=1&amp;b=2' target=_blank>page</a> <a>bare</a>",
		"<pre><code>a\n  b\n</code></pre>c",
		"</b>x</p>", "<B>x</B>", "<", "</", "<b", "a<b c=\"", "",
	} {
		got := htmlText(rich, func(shown, who string) string { return shown + "=" + who })
		if want := mautrix.Parse(rich, format.NewContext(context.Background())); got != want {
			t.Errorf("%q reads %q, by mautrix %q", rich, got, want)
		}
	}
}

func TestHTMLTextDeep(t *testing.T) {
	deep := strings.Repeat("<blockquote>", 5000) + "x" + strings.Repeat("</blockquote>", 5000)
	if got := htmlText(deep, nil); !strings.HasSuffix(got, "x") || len(got) > 3*mostOpen {
		t.Errorf("%d bytes: %.50q", len(got), got)
	}
}
