package bot

// words is what the bot itself says, in one language. What answers say is in
// answers/lang.
type words struct {
	rule, read, layer, from, replaces, more, source string

	detail, missed, topics string // labels of controls
	detailTitle            string
	rulesHead              string
	sectionGone            string

	helpHead, helpHow, helpUnknown, helpTopic string
	topicsTitle                               string

	bound, unbound, notBound, isBound               string
	onlyAdmins, noDivision, onlyDirect, notInDirect string
	defaultSet, defaultGone, defaultIs, defaultNone string
	forgot                                          string
	noted, forgotten, noChoice                      string
	sorry, tooFast                                  string
	homeTitle, homeSeason, homeBook, homeAdmins     string
	homeNoAdmins, homeAsk                           string
	positions                                       map[string]string
}

func wordsOf(lang string) *words {
	if w := allWords[lang]; w != nil {
		return w
	}
	return allWords["en"]
}

var allWords = map[string]*words{
	"en": {
		rule: "Rule", read: "Read more", layer: "%s layer", from: "from %s", replaces: "replaces %s", more: "and %d more", source: "Source: %s",
		detail: "More detail", missed: "This does not answer me", topics: "All topics",
		detailTitle: "The whole answer", rulesHead: "Rules it rests on",
		sectionGone: "The club's book no longer has that summary.",
		helpHead:    "Ask me a rules question in your own words. For example:",
		helpHow:     "In a thread I remember what we spoke about; write to me directly to set your own age division (\"my team is U11\").",
		helpUnknown: "I have no topic \"%s\". For example, ask:", helpTopic: "%s. For example:",
		topicsTitle: "What you can ask",
		bound:       "This channel is now taken for %s. A question that names another division or position still gets that one.",
		unbound:     "This channel is no longer taken for any division.",
		notBound:    "This channel is not set to any division. An admin can write \"this channel is U11\".",
		isBound:     "This channel is taken for %s.",
		onlyAdmins:  "Only the club's admins can set a channel's division. I changed nothing; please ask one of them.",
		noDivision:  "I could not tell which division that is. The book has %s. I changed nothing.",
		onlyDirect:  "Please write that to me directly, so that it is only yours.",
		notInDirect: "This is a direct conversation. To set your own division, write \"my team is U11\".",
		defaultSet:  "I will take your questions for %s where you name no other. \"Forget my default\" ends that.",
		defaultGone: "You have no default any more.",
		defaultIs:   "Your questions are taken for %s where you name no other.", defaultNone: "You have no default. Write, for example, \"my team is U11\".",
		forgot:    "Done: what I kept of you is deleted.",
		noted:     "Thank you. I noted the question for the club's admins, without your name.",
		forgotten: "I no longer remember that question. Please ask it again.",
		noChoice:  "That choice is not open any more. Please ask again.",
		sorry:     "Sorry, something went wrong while I worked that out. Please ask the officials or your coordinator; it has been reported.",
		tooFast:   "That is a lot at once. Please give me a minute, then ask again.",
		homeTitle: "Lacrosse rules on the side line", homeSeason: "Season %s (%s to %s)", homeBook: "The club's book: revision %s, last reviewed %s.",
		homeAdmins: "Admins", homeNoAdmins: "No admins are set.", homeAsk: "Ask: %s",
		positions: map[string]string{"attack": "attack", "midfield": "midfield", "defense": "defense", "goalkeeper": "goalkeeper", "field": "field players"},
	},
	"es": {
		rule: "Regla", read: "Más en", layer: "capa %s", from: "desde %s", replaces: "en lugar de %s", more: "y %d más", source: "Fuente: %s",
		detail: "Más detalle", missed: "Esto no me responde", topics: "Todos los temas",
		detailTitle: "Respuesta completa", rulesHead: "Reglas en que se basa",
		sectionGone: "El libro del club ya no tiene ese resumen.",
		helpHead:    "Pregúnteme por una regla con sus palabras. Por ejemplo:",
		helpHow:     "En un hilo recuerdo de qué hablamos; escríbame en directo para poner su división (\"mi equipo es U11\").",
		helpUnknown: "No tengo el tema \"%s\". Por ejemplo, pregunte:", helpTopic: "%s. Por ejemplo:",
		topicsTitle: "Qué puede preguntar",
		bound:       "Este canal se toma ahora como %s. Si una pregunta nombra otra división o posición, vale esa.",
		unbound:     "Este canal ya no se toma como ninguna división.",
		notBound:    "Este canal no tiene división. Un administrador puede escribir \"este canal es U11\".",
		isBound:     "Este canal se toma como %s.",
		onlyAdmins:  "Solo los administradores del club pueden poner la división de un canal. No cambié nada; por favor pregunte a uno de ellos.",
		noDivision:  "No pude saber qué división es. El libro tiene %s. No cambié nada.",
		onlyDirect:  "Por favor escríbame eso en directo, para que sea solo suyo.",
		notInDirect: "Esta es una conversación directa. Para poner su división, escriba \"mi equipo es U11\".",
		defaultSet:  "Tomaré sus preguntas como %s si no nombra otra. \"Olvida mi división\" lo quita.",
		defaultGone: "Ya no tiene división puesta.",
		defaultIs:   "Sus preguntas se toman como %s si no nombra otra.", defaultNone: "No tiene división puesta. Escriba, por ejemplo, \"mi equipo es U11\".",
		forgot:    "Listo: borré lo que guardaba de usted.",
		noted:     "Gracias. Anoté la pregunta para los administradores del club, sin su nombre.",
		forgotten: "Ya no recuerdo esa pregunta. Por favor pregúntela otra vez.",
		noChoice:  "Esa opción ya no está abierta. Por favor pregunte otra vez.",
		sorry:     "Perdón, algo falló al buscar la respuesta. Pregunte a los árbitros o a su coordinador; ya quedó avisado.",
		tooFast:   "Son muchas a la vez. Espere un minuto y pregunte otra vez.",
		homeTitle: "Reglas de lacrosse junto al campo", homeSeason: "Temporada %s (%s a %s)", homeBook: "El libro del club: revisión %s, revisado por última vez el %s.",
		homeAdmins: "Administradores", homeNoAdmins: "No hay administradores.", homeAsk: "Pregunte: %s",
		positions: map[string]string{"attack": "ataque", "midfield": "medio", "defense": "defensa", "goalkeeper": "portero", "field": "jugadores de campo"},
	},
}
