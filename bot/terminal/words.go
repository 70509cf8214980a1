package terminal

// words is what the terminal itself says, in one language.
type words struct {
	rule, read     string
	layer, from    string
	replaces, more string
	left, leftOne  string

	hello           string
	help, helpTopic string
	again, bye      string
	failed          string
	nothingMore     string
}

var labels = map[string]*words{
	"en": {
		rule: "Rule", read: "Read more",
		layer: "%s layer", from: "from %s", replaces: "replaces %s", more: "and %d more",
		left: "%d more lines", leftOne: "1 more line",
		hello: "Ask a rules question in your own words. Type help, new or quit; a number picks a choice.",
		help: "Ask about sticks, gear, contact, fouls, penalty time or the game, with the age division if you can.\n" +
			"new starts over, more shows the whole answer, help TOPIC gives examples, quit ends.\nTopics:",
		helpTopic:   "For example:",
		again:       "A new conversation.",
		bye:         "Bye.",
		failed:      "Something went wrong inside the program; please report it. You can go on asking.",
		nothingMore: "There is no more to show.",
	},
	"es": {
		rule: "Regla", read: "Más en",
		layer: "capa %s", from: "desde %s", replaces: "en lugar de %s", more: "y %d más",
		left: "%d líneas más", leftOne: "1 línea más",
		hello: "Pregunte por una regla con sus palabras. Escriba ayuda, nuevo o salir; un número elige.",
		help: "Pregunte por palos, equipo, contacto, faltas, tiempo de castigo o el juego; diga la división si puede.\n" +
			"nuevo empieza otra vez, más muestra toda la respuesta, ayuda TEMA da ejemplos, salir termina.\nTemas:",
		helpTopic:   "Por ejemplo:",
		again:       "Una conversación nueva.",
		bye:         "Adiós.",
		failed:      "Algo falló dentro del programa; por favor avise. Puede seguir preguntando.",
		nothingMore: "No hay más que mostrar.",
	},
}

// command is what a line asks of the terminal and not of the desk.
type command int

const (
	none command = iota
	help
	again
	quit
	more
)

// commandWords are the commands in plain words; a line is a command only when
// it is nothing else, so that "new stick?" stays a question.
var commandWords = map[string]struct {
	command
	lang string
}{
	"help": {help, "en"}, "?": {help, ""}, "ayuda": {help, "es"}, "topics": {help, "en"}, "temas": {help, "es"},
	"new": {again, "en"}, "start over": {again, "en"}, "reset": {again, "en"}, "nuevo": {again, "es"}, "nueva": {again, "es"}, "otra vez": {again, "es"},
	"quit": {quit, "en"}, "exit": {quit, "en"}, "bye": {quit, "en"}, "goodbye": {quit, "en"}, "q": {quit, "en"},
	"salir": {quit, "es"}, "adios": {quit, "es"}, "adiós": {quit, "es"}, "chao": {quit, "es"},
	"more": {more, "en"}, "más": {more, "es"}, "mas": {more, "es"},
}
