package checks

import (
	"slices"

	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const helmetTopic = "helmet"

// helmet judges a helmet by whatever is told of it: the mark of its standard, the
// sport it is made for, its fit, its chin strap, its visor, changes to it.
func helmet() *Check {
	return &Check{
		Topic:      helmetTopic,
		Help:       "whether a helmet, its strap, fit, mark and visor are legal",
		HelpES:     "si el casco, su correa, ajuste, sello y visor son legales",
		Examples:   []string{"chin strap undone, can he play?", "tinted visor ok?", "what mark does the helmet need"},
		ExamplesES: []string{"¿visor oscuro?", "¿puede jugar con el barbiquejo suelto?"},
		Wants: []question.Want{
			{Name: "certified", Read: question.Or(
				question.Lost([]string{"helmet:certified", "helmet:sticker"}, []string{"ask:without", "gone"}),
				question.Turned(question.Lacking("lack", "helmet:sticker")),
				question.Judged([]string{"helmet:certified"}, []string{"helmet:uncertified"}),
			)},
			{Name: "certification_expired", Read: question.Flagged([]string{"helmet:expired"}, nil)},
			{Name: "made_for", Read: question.MadeFor("helmet:lacrosse", "helmet:other-sport")},
			{Name: "chinstrap_fastened", Read: question.Or(
				question.Lost([]string{"thing:chinstrap"}, []string{"ask:without", "gone"}),
				question.Beside(question.Judged([]string{"strap:done"}, []string{"strap:undone"}), "thing:chinstrap"),
				question.Turned(question.Lacking("lack", "thing:chinstrap")),
			)},
			{Name: "loose", Read: question.Turned(question.Judged([]string{"fit:snug"}, []string{"fit:loose"}))},
			{Name: "visor", Read: question.Or(question.TaggedOf("visor", []string{"tinted", "clear"}),
				question.Beside(question.TaggedOf("color", []string{"clear"}), "visor"),
				question.Beside(question.TaggedOf("color", []string{"clear"}), "clearone"), // of a thread about a visor
				question.Short(question.TaggedOf("color", []string{"clear"}), 3),
				question.Means("clear", "clearone"))}, // in a talk about shields
			{Name: "altered", Read: question.Flagged([]string{"altered"}, nil)},
		},
		Keys: []string{"helmet/standard", "helmet/certified_required", "helmet/made_for", "helmet/chinstrap_required", "helmet/loose_allowed",
			"helmet/banned_visors", "helmet/legal_visors", "gear/altered-gear"},
		Safety: true,
		Decide: decideHelmet,
	}
}

func decideHelmet(c *Case) {
	c.Safety = true
	head, bad, any := "", false, false
	fix := ""
	note := func(ok bool, legal, not, mend string) {
		if ok {
			if !any {
				head = legal
			}
		} else if !bad {
			head, fix, bad = not, mend, true
		}
		any = true
	}
	sure := true // false where an official's look decides
	may := c.Asked.May()
	must := c.Asked.Any("ask:must", "ask:what") && !may && !c.Asked.Has("ask:without")
	certified, told := c.Said("certified")
	if told {
		if needed, ok := c.Flag(helmetTopic, "certified_required"); ok {
			note(certified || !needed, "certified", "not-certified", "fix-not-certified")
		}
	}
	if old, ok := c.Said("certification_expired"); ok && old {
		sure, any = false, true
	}
	if made := c.Told("made_for"); made != "" {
		if want, ok := c.Word(helmetTopic, "made_for"); ok {
			note(made == want, "made-for", "other-sport", "fix-other-sport")
		}
	}
	if done, ok := c.Said("chinstrap_fastened"); ok {
		if needed, ok := c.Flag(helmetTopic, "chinstrap_required"); ok {
			note(done || !needed, "strap-done", "strap-undone", "fix-strap")
		}
	}
	if loose, ok := c.Said("loose"); ok {
		if allowed, ok := c.Flag(helmetTopic, "loose_allowed"); ok {
			note(!loose || allowed, "snug", "loose", "fix-loose")
		}
	}
	visor := c.Told("visor")
	if visor != "" {
		if banned, ok := c.Words(helmetTopic, "banned_visors"); ok {
			c.ParamText("visor", visor)
			switch legal, _ := c.Words(helmetTopic, "legal_visors"); {
			case slices.Contains(banned, visor):
				note(false, "", "visor-banned", "fix-visor")
			case slices.Contains(legal, visor):
				note(true, "visor-legal", "", "")
			}
		}
	}
	if changed, ok := c.Said("altered"); ok && changed {
		if w, ok := c.Word("gear", "altered-gear"); ok && w == "banned" {
			note(false, "", "altered", "fix-altered")
		}
	}
	switch {
	case bad && must && !told || must && any:
		c.helmetInfo()
	case bad:
		c.Rule(answer.NotLegal, head)
		c.Line(fix)
	case any && !sure:
		c.Rule(answer.Depends, "expired")
	case any:
		c.Rule(answer.Legal, head)
		c.Line("all-of-it")
	case c.Asked.Has("visor"):
		c.Rule(answer.Depends, "visor-which")
	case may && !c.Asked.Any("ask:what", "helmet:certified"):
		c.Need("certified")
	default:
		c.helmetInfo()
	}
}

// helmetInfo answers what is asked of a helmet in general.
func (c *Case) helmetInfo() {
	switch {
	case c.Asked.Has("thing:chinstrap"):
		c.Find(helmetTopic, "chinstrap_required")
		c.Rule(answer.Info, "info-strap")
	case c.Asked.Has("visor"):
		c.Find(helmetTopic, "legal_visors")
		c.Rule(answer.Info, "info-visor")
	default:
		r := c.Find(helmetTopic, "standard")
		if r == nil || len(r.Value.Words) == 0 {
			c.NotCovered()
			return
		}
		c.PutText("standard", r.Value.Words[0])
		c.Rule(answer.Info, "info")
		c.memory(r)
	}
}
