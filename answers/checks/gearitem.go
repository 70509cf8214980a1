package checks

import (
	"slices"

	"sidewall/answers/answer"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const gearTopic = "gear"

// What the gear sheet says of an item.
const (
	statusRequired    = "required"
	statusRecommended = "recommended"
	statusOptional    = "optional"
	statusBanned      = "banned"
	statusTaped       = "taped" // only taped down
)

// gearItem says whether an item has to, should, may or must not be worn.
func gearItem() *Check {
	// The helmet, the shoes and the stick are often named as where an item is.
	item := question.Or(question.NamedWithout("item", "lack"), question.Named("item", "crosse", "helmet", "shoes"),
		question.Means("jewelry", "jewelry:medical", "jewelry:religious"))
	return &Check{
		Topic:      "gear-item",
		PageBy:     "item",
		Help:       "whether an item of gear is required, optional or banned",
		HelpES:     "si una prenda del equipo es obligatoria, opcional o prohibida",
		Examples:   []string{"does my U13 defender have to wear rib pads?", "can he wear metal cleats", "no mouthguard, can he play?"},
		ExamplesES: []string{"¿tiene que usar costilleras mi defensa U13?"},
		Wants: []question.Want{
			{Name: "item", Read: item},
			{Name: "other_item", Read: question.NamedToo("item", item)},
			{Name: "without", Read: question.Lacking("lack", "item:")},
			{Name: "taped", Read: question.Judged([]string{"taped"}, []string{"taped:no"})},
			{Name: "special", Read: question.TaggedOf("jewelry", []string{"medical", "religious"})},
			{Name: "visor", Read: question.Or(question.TaggedOf("visor", []string{"tinted", "clear"}),
				question.Beside(question.TaggedOf("color", []string{"clear"}), "visor"))},
			{Name: "certified", Read: question.Or(
				question.Lost([]string{"gear:marked"}, []string{"ask:without", "gone"}),
				question.Judged([]string{"gear:marked"}, []string{"gear:unmarked"}))},
			{Name: "altered", Read: question.Flagged([]string{"altered", "pads:cut"}, nil)},
		},
		Keys:       []string{"gear/*", "helmet/banned_visors"},
		ByDivision: true, ByPosition: true,
		Decide: decideGearItem,
	}
}

func decideGearItem(c *Case) {
	item := c.Told("item")
	if item == "" {
		c.Need("item")
		return
	}
	c.Safety = item == "helmet" || item == "mouthguard" || item == "throat-guard" || item == "chest-protector" || item == "eye-shield"
	item = c.worse(item)
	c.ParamText("about", item)
	r := c.Find(gearTopic, item)
	if r == nil || r.Value.Kind != sheet.Word {
		c.NotCovered()
		return
	}
	status := r.Value.Words[0]
	if status == statusBanned {
		c.bannedItem(item, r)
		return
	}
	if marked, ok := c.Said("certified"); ok && c.markNeeded(item, marked) {
		return
	}
	if changed, ok := c.Said("altered"); ok && changed {
		if w, ok := c.Word(gearTopic, "altered-gear"); ok && w == statusBanned {
			c.Rule(answer.NotLegal, "altered")
			return
		}
	}
	if item == "eye-shield" && c.Asked.May() && !c.without() {
		c.eyeShield(status)
		return
	}
	c.PutText("status", status)
	without, may := c.without(), c.Asked.May()
	must := c.Asked.Has("ask:must")
	switch {
	case without && (may || !must):
		switch status {
		case statusRequired:
			c.Rule(answer.NotLegal, "without-required")
		case statusRecommended:
			c.Rule(answer.Legal, "without-recommended")
		default:
			c.Rule(answer.Legal, "without-optional")
		}
	case may && !must && (item == "helmet" || item == "mouthguard" || item == "gloves" || c.Asked.Any("scope:maybe", "helmet:other-sport", "pads:damaged")):
		c.Rule(answer.Depends, "with-depends") // what kind it is decides, and nothing told of it was judged here
	case may && !must:
		c.Rule(answer.Legal, "with")
	default:
		c.Rule(answer.Info, status)
	}
	c.memory(r)
	c.itemAdvice(item)
}

// worse is which of two items told together decides: one that is banned, and
// going without, one that is required.
func (c *Case) worse(item string) string {
	other := c.Told("other_item")
	if other == "" || !c.Asked.May() && !c.without() {
		return item
	}
	r := c.Peek(gearTopic, other)
	if r == nil || r.Value.Kind != sheet.Word {
		return item
	}
	if s := r.Value.Words[0]; s == statusBanned || s == statusRequired && c.without() {
		return other
	}
	return item
}

// bannedItem judges jewelry, metal spikes and the like; what may stay on taped
// down stands under the item's own dotted keys.
func (c *Case) bannedItem(item string, r *sheet.Record) {
	key := ""
	switch c.Told("special") {
	case "medical":
		key = item + ".medical-item"
	case "religious":
		key = item + ".religious-item"
	}
	if w := c.Peek(gearTopic, key); key != "" && w != nil && w.Value.Kind == sheet.Word && w.Value.Words[0] == statusTaped {
		c.Find(gearTopic, key)
		switch taped, told := c.Said("taped"); {
		case !told:
			c.Rule(answer.Depends, "taped-or-not")
		case taped:
			c.Rule(answer.Legal, "taped")
		default:
			c.PutText("status", statusBanned)
			c.Rule(answer.NotLegal, "untaped")
		}
		c.memory(w)
		return
	}
	c.PutText("status", statusBanned)
	switch {
	case c.without() && c.Asked.May() && !c.Asked.Any("taped:no", "taped"):
		c.Rule(answer.Legal, "without-banned")
	case !c.Asked.May() && (c.Asked.Has("ask:must") || c.without()):
		c.Rule(answer.Info, statusBanned)
	default:
		c.Rule(answer.NotLegal, "with-banned")
		if taped, ok := c.Said("taped"); ok && taped {
			c.Line("tape-no-help")
		}
	}
	switch item {
	case "jewelry":
		c.Line("fix-jewelry")
	case "metal-spikes":
		c.Line("fix-metal-spikes")
	}
	c.memory(r)
}

// markNeeded judges an item by the mark of its standard; false where the item
// needs none.
func (c *Case) markNeeded(item string, marked bool) bool {
	key := ""
	switch item { // joined here, not at run time
	case "chest-protector":
		key = "chest-protector.standard"
	case "shoulder-pads":
		key = "shoulder-pads.standard"
	default:
		return false
	}
	w, ok := c.Word(gearTopic, key)
	if !ok {
		return false
	}
	c.ParamText("standard", w)
	if marked {
		c.Rule(answer.Legal, "marked")
	} else {
		c.Rule(answer.NotLegal, "unmarked")
	}
	return true
}

// eyeShield judges wearing an eye shield, which turns on its tint.
func (c *Case) eyeShield(status string) {
	visor := c.Told("visor")
	banned, ok := c.Words(helmetTopic, "banned_visors")
	switch {
	case ok && slices.Contains(banned, visor):
		c.Rule(answer.NotLegal, "visor-banned")
	case visor != "":
		c.PutText("status", status)
		c.Rule(answer.Legal, "visor-legal")
	default:
		c.PutText("status", status)
		c.Rule(answer.Depends, "visor-which")
	}
}

// itemAdvice adds what else counts for an item.
func (c *Case) itemAdvice(item string) {
	switch item {
	case "throat-guard":
		c.Line("advice-throat-guard")
	case "chest-protector":
		c.Line("advice-chest-protector")
	case "eye-shield":
		c.Line("advice-eye-shield")
	case "mouthguard":
		c.Line("advice-mouthguard")
	case "gloves":
		c.Line("advice-gloves")
	case "helmet":
		c.Line("advice-helmet")
	}
}
