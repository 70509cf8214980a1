package checks

import (
	"strings"

	"sidewall/answers/answer"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

// gearList lists what a player has to, should and may wear.
func gearList() *Check {
	return &Check{
		Topic:      "gear-list",
		Help:       "what gear a player needs",
		HelpES:     "qué equipo necesita un jugador",
		Examples:   []string{"what does a U9 goalie need?", "full gear list for a U11 attackman"},
		ExamplesES: []string{"¿qué equipo necesita un portero de U9?"},
		Wants:      []question.Want{},
		Keys:       []string{"gear/*"},
		ByDivision: true, ByPosition: true, AskSplit: true,
		Decide: decideGearList,
	}
}

func decideGearList(c *Case) {
	t := c.Sheet.Topics["gear"]
	if t == nil {
		c.NotCovered()
		return
	}
	var required, recommended, optional []string
	for _, id := range t.Order {
		if strings.IndexByte(id, '.') >= 0 {
			continue
		}
		win, lost := c.Sheet.Lookup("gear", id, c.Division, c.Position, c.On)
		if win == nil || win.Value.Kind != sheet.Word {
			continue
		}
		var to *[]string
		switch win.Value.Words[0] {
		case "required":
			to = &required
		case "recommended":
			to = &recommended
		case "optional":
			to = &optional
		default:
			continue
		}
		if *to == nil {
			*to = make([]string, 0, len(t.Order))
		}
		*to = append(*to, id)
		if lost != nil && c.nBasis < len(c.basis)-2 { // what differs from the rules below is worth showing first
			c.Use(win, lost)
		}
	}
	if len(required) == 0 {
		c.NotCovered()
		return
	}
	for _, id := range required {
		c.Use(c.Sheet.Lookup("gear", id, c.Division, c.Position, c.On))
	}
	c.PutList("required", required)
	if len(recommended) > 0 {
		c.PutList("recommended", recommended)
		c.Line("recommended")
	}
	if len(optional) > 0 {
		c.PutList("optional", optional)
		c.Line("optional")
	}
	c.Rule(answer.Info, "info")
}
