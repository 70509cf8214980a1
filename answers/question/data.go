package question

import _ "embed" // the words

// The data files are variables, one each, since an embedded folder gives only
// copies of what is in it, and copying a megabyte of words takes as long as
// reading them. TestAllDataIsRead fails where a file is missing here.

// dataFile is a data file with its name, for errors.
type dataFile struct{ name, text string }

var (
	//go:embed data/en/ask.txt
	enAsk string
	//go:embed data/en/contact.txt
	enContact string
	//go:embed data/en/counting.txt
	enCounting string
	//go:embed data/en/crosse.txt
	enCrosse string
	//go:embed data/en/division.txt
	enDivision string
	//go:embed data/en/fouls.txt
	enFouls string
	//go:embed data/en/game.txt
	enGame string
	//go:embed data/en/gear.txt
	enGear string
	//go:embed data/en/more-game.txt
	enMoreGame string
	//go:embed data/en/more-gear.txt
	enMoreGear string
	//go:embed data/en/more-4.txt
	enMore4 string
	//go:embed data/en/more-5.txt
	enMore5 string
	//go:embed data/en/numbers.txt
	enNumbers string
	//go:embed data/en/people.txt
	enPeople string
	//go:embed data/en/safety.txt
	enSafety string
	//go:embed data/en/scope.txt
	enScope string
	//go:embed data/en/story.txt
	enStory string
	//go:embed data/en/time.txt
	enTime string
	//go:embed data/en/units.txt
	enUnits string
	//go:embed data/en/words.txt
	enWords string
	//go:embed data/es/ask.txt
	esAsk string
	//go:embed data/es/contact.txt
	esContact string
	//go:embed data/es/counting.txt
	esCounting string
	//go:embed data/es/crosse.txt
	esCrosse string
	//go:embed data/es/division.txt
	esDivision string
	//go:embed data/es/fouls.txt
	esFouls string
	//go:embed data/es/game.txt
	esGame string
	//go:embed data/es/gear.txt
	esGear string
	//go:embed data/es/more-2.txt
	esMore2 string
	//go:embed data/es/more.txt
	esMore string
	//go:embed data/es/numbers.txt
	esNumbers string
	//go:embed data/es/people.txt
	esPeople string
	//go:embed data/es/safety.txt
	esSafety string
	//go:embed data/es/scope.txt
	esScope string
	//go:embed data/es/story.txt
	esStory string
	//go:embed data/es/time.txt
	esTime string
	//go:embed data/es/units.txt
	esUnits string
	//go:embed data/es/words.txt
	esWords string

	//go:embed data/heard.txt
	heardText string
	//go:embed data/foreign.txt
	foreignText string
	//go:embed data/common.txt
	commonText string
	//go:embed data/weights.txt
	weightsText string
)

// lexiconEN are the words of English.
var lexiconEN = []dataFile{
	{"data/en/ask.txt", enAsk},
	{"data/en/contact.txt", enContact},
	{"data/en/counting.txt", enCounting},
	{"data/en/crosse.txt", enCrosse},
	{"data/en/division.txt", enDivision},
	{"data/en/fouls.txt", enFouls},
	{"data/en/game.txt", enGame},
	{"data/en/gear.txt", enGear},
	{"data/en/more-4.txt", enMore4},
	{"data/en/more-5.txt", enMore5},
	{"data/en/more-game.txt", enMoreGame},
	{"data/en/more-gear.txt", enMoreGear},
	{"data/en/numbers.txt", enNumbers},
	{"data/en/people.txt", enPeople},
	{"data/en/safety.txt", enSafety},
	{"data/en/scope.txt", enScope},
	{"data/en/story.txt", enStory},
	{"data/en/time.txt", enTime},
	{"data/en/units.txt", enUnits},
	{"data/en/words.txt", enWords},
}

// lexiconES are the words of Spanish.
var lexiconES = []dataFile{
	{"data/es/ask.txt", esAsk},
	{"data/es/contact.txt", esContact},
	{"data/es/counting.txt", esCounting},
	{"data/es/crosse.txt", esCrosse},
	{"data/es/division.txt", esDivision},
	{"data/es/fouls.txt", esFouls},
	{"data/es/game.txt", esGame},
	{"data/es/gear.txt", esGear},
	{"data/es/more-2.txt", esMore2},
	{"data/es/more.txt", esMore},
	{"data/es/numbers.txt", esNumbers},
	{"data/es/people.txt", esPeople},
	{"data/es/safety.txt", esSafety},
	{"data/es/scope.txt", esScope},
	{"data/es/story.txt", esStory},
	{"data/es/time.txt", esTime},
	{"data/es/units.txt", esUnits},
	{"data/es/words.txt", esWords},
}

// functionWordsES tell the language; they are read with the English ones.
var functionWordsES = []dataFile{{"data/es/words.txt", esWords}}
