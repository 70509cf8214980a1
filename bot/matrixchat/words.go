package matrixchat

// words is what the adapter itself says, in one language.
type words struct {
	choose string // below numbered choices
	react  string // before the signs and what they do
	cut    string // where a view is too long for one message
	sealed string // to an encrypted room that cannot be read
}

func wordsOf(lang string) *words {
	if w := allWords[lang]; w != nil {
		return w
	}
	return allWords["en"]
}

var allWords = map[string]*words{
	"en": {
		choose: "Answer with a number, or tap one below.",
		react:  "React with",
		cut:    "There is more in the club's book.",
		sealed: "This room is encrypted and I cannot read it. Ask me in a room without encryption, or ask whoever runs me to turn encryption on (setting matrix.encryption, in a build that has it).",
	},
	"es": {
		choose: "Responda con un número, o toque uno abajo.",
		react:  "Reaccione con",
		cut:    "Hay más en el libro del club.",
		sealed: "Esta sala está cifrada y no puedo leerla. Pregúnteme en una sala sin cifrado, o pida a quien me administra que active el cifrado (ajuste matrix.encryption, en una versión que lo tenga).",
	},
}

// sealedRoom is what an encrypted room is told; nobody's language is known there.
func sealedRoom(lang string) string {
	if w := allWords[lang]; w != nil {
		return w.sealed
	}
	return allWords["en"].sealed + "\n" + allWords["es"].sealed
}
