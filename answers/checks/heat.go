package checks

import (
	"math"

	"sidewall/answers/answer"
	"sidewall/answers/measure"
	"sidewall/answers/question"
	"sidewall/answers/sheet"
)

const heatTopic = "heat"

// heatBands are the names of the bands in the sheet; their heat index says
// which is hotter.
var heatBands = []string{"breaks", "lighter", "no-pads", "stop"}

// What air and weather can be; anything else was misread.
const (
	hottestAir = 140 * measure.DegreeF
	coldestAir = -60 * measure.DegreeF
	allMoist   = 100
	// nobody asks about heat below it; without a scale it was Celsius, perhaps
	coolest = 50 * measure.DegreeF
)

// heat tells what the heat allows.
func heat() *Check {
	return &Check{
		Topic:      heatTopic,
		Help:       "what the heat index allows at practice and games",
		HelpES:     "qué permite el índice de calor",
		Examples:   []string{"94 degrees and 60% humidity, can we practice?", "32 C and 60 percent humidity?"},
		ExamplesES: []string{"¿32 grados centígrados con 60% de humedad, se practica?"},
		Wants: []question.Want{
			{Name: "temperature_f", Read: question.Temperature()},
			{Name: "humidity", Read: question.Humidity()},
			{Name: "heat_index_said_f", Read: question.HeatIndexSaid()},
		},
		Keys:   []string{"heat/*"},
		Safety: true,
		Decide: decideHeat,
	}
}

func decideHeat(c *Case) {
	c.Safety = true
	t, warm := c.Fact("temperature_f")
	h, moist := c.Fact("humidity")
	said, looked := c.Fact("heat_index_said_f")
	switch {
	case warm && moist:
		temp, wet := measure.Temp(t.Lo), N(h.Lo)
		if t.Word == question.NoScale && temp < coolest {
			c.Need("temperature_f")
			c.Head = "which-degrees"
			return
		}
		if temp > hottestAir || temp < coldestAir {
			c.Need("temperature_f")
			return
		}
		if wet < 0 || wet > allMoist {
			c.Need("humidity")
			return
		}
		c.band(math.Round(measure.HeatIndexF(temp.Fahrenheit(), wet)))
	case looked:
		c.band(math.Round(measure.Temp(said.Lo).Fahrenheit()))
	case warm:
		c.Need("humidity")
	case moist:
		c.Need("temperature_f")
	default:
		c.Need("temperature_f", "humidity")
	}
}

// band rules by a heat index in whole °F: the hottest band that it reaches.
func (c *Case) band(index float64) {
	at := int64(index) * int64(measure.DegreeF)
	var best *sheet.Record
	for _, k := range heatBands {
		r := c.Peek(heatTopic, k)
		if r != nil && r.Value.Kind == sheet.Number && at >= r.Value.Lo && (best == nil || r.Value.Lo > best.Value.Lo) {
			best = r
		}
	}
	c.PutNum("heat_index_f", index)
	if best == nil {
		word, ok := c.Word(heatTopic, "under_all")
		if !ok {
			c.NotCovered()
			return
		}
		c.PutText("band", word)
		c.Rule(answer.Info, "band-"+word)
		c.Line("watch")
		return
	}
	c.Use(best, nil)
	c.PutText("band", best.Key)
	c.Rule(answer.Info, "band-"+best.Key)
	if every, ok := c.Number(heatTopic, "breaks.water_every"); ok && best.Key == "breaks" {
		c.ParamNum("water_every_s", Sec(every))
		c.Line("water-every")
	}
	c.Line("watch")
}
