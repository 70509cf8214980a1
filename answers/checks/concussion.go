package checks

import (
	"sidewall/answers/answer"
	"sidewall/answers/question"
)

const concussionTopic = "concussion"

// concussion says that a player with signs of one is out for the day.
func concussion() *Check {
	return &Check{
		Topic:      concussionTopic,
		Help:       "what to do with signs of a concussion",
		HelpES:     "qué hacer con señales de conmoción",
		Examples:   []string{"he hit his head and feels fine, can he go back in?", "who clears a player after a concussion?"},
		ExamplesES: []string{"se pegó en la cabeza, ¿puede volver a entrar?"},
		Wants:      []question.Want{{Name: "cleared", Read: question.Flagged([]string{"cleared"}, []string{"uncleared"})}},
		Keys:       []string{"concussion/*"},
		Safety:     true,
		Decide:     decideConcussion,
	}
}

func decideConcussion(c *Case) {
	c.Safety = true
	out, ok := c.Flag(concussionTopic, "out_at_once")
	same, ok2 := c.Flag(concussionTopic, "same_day_return")
	if !ok || !ok2 || !out || same {
		c.NotCovered()
		return
	}
	c.Word(concussionTopic, "clearance")
	c.Word(concussionTopic, "clearance_by")
	switch {
	case c.Asked.Has("who") && !(c.Asked.May() && c.Asked.Any("return", "resume") && !c.Asked.Has("whoclears")), c.Asked.Has("ask:what") && c.Asked.Has("ask:must"): // what it takes, and who clears him
		c.Rule(answer.Info, "out")
		c.Line("feeling-fine")
	case c.cleared(), c.Asked.Has("laterday") && !c.Asked.May():
		c.Rule(answer.Info, "later")
	case (c.Asked.May() || c.Asked.Has("q:mark") && c.Asked.Any("return", "resume") && !c.Asked.Any("ask:what", "ask:how", "ask:must")) && !c.Asked.Any("ask:whenmay", "ask:howlong"):
		c.Rule(answer.NotLegal, "not-today")
		if c.Asked.Has("laterday") {
			c.Head = "not-uncleared"
		}
		c.Line("feeling-fine")
	default:
		c.Rule(answer.Info, "out")
		c.Line("feeling-fine")
	}
	c.Line("clearance")
}

// cleared says whether somebody is told to have cleared him on a later day: then it
// is no verdict of ours, only what a clearance has to be. On the same day none helps.
func (c *Case) cleared() bool {
	yes, ok := c.Said("cleared")
	return ok && yes && c.Asked.Any("laterday", "earlierday")
}
