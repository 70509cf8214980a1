package bot

// editWords is what the bot says of the book's keeping, in one language.
type editWords struct {
	onlyAdmins, noBook, noBookHow, begin, begun, begunNext, beginFailed string

	list, listAbout, listNone, listMore, listHow            string
	noSummary, noSummaryNear, whole, edit, changeHow, about string
	newHow, taken, valueHow                                 string
	tooLong, notText, empty, notFound, oftenFound           string

	draft, contradicts, finding, more                  string
	what, whom, before, after, nowhere                 string
	sameValue, differs, publish, cancel, show          string
	difference, values, lint, answers, two, stillOf    string
	noDraft, whichDraft, cancelled, isCancelled        string
	published, isPublished, after2, revoked, needOther string
	waits, stale, wrong, unchanged                     string
	waitsHead, draftsHead                              string

	history, historyNone, historyLine, undo, undoOf string

	changes, changesNone, changesWhich, changesLine, changesAll string

	open, openNone, openLine, openDraft, openGone, openHow     string
	whyNone, whyNeed, whyMissed                                string
	adminsAre, adminsMore, adminNamed, adminGone, adminUnknown string
	adminSet, adminWho                                         string
	broken                                                     string

	formEdit, formNew, formValue, formSend, formText, formTitle, formAsked string
	formAdd, formAddHint, formWhy, formWhyHint, formSaying, formStale      string
	formLong, formSlow, formNoTitle                                        string
}

func editWordsOf(lang string) *editWords {
	if w := allEditWords[lang]; w != nil {
		return w
	}
	return allEditWords["en"]
}

var allEditWords = map[string]*editWords{
	"en": {
		onlyAdmins: "Only the club's admins keep the book. I changed nothing; please tell one of them what should be different.",
		noBook:     "I am serving the book that comes with the program, and that one cannot be changed.",
		noBookHow:  "The club needs a copy of its own first: sidewall book new our-book writes one, and the setting book: our-book has me use it after a restart.",
		begin:      "Write a copy now", begun: "I wrote the club's own book to %s.",
		begunNext:   "Set book to that folder (in sidewall.yaml, or SIDEWALL_BOOK) and restart me; then you can change it from here.",
		beginFailed: "The copy could not be written: %s",

		list: "The book has %d summaries.", listAbout: "Summaries about %s: %d.", listNone: "No summary is about %s.",
		listMore:  "and %d more; add \"about\" and a word to find one",
		listHow:   "Write \"show\" and a name to read one.",
		noSummary: "The book has no summary called \"%s\".", noSummaryNear: "Did you mean %s?",
		whole: "Whole text", edit: "Edit", about: "For %s; looked over on %s by the %s.",
		changeHow: "To change it: in %s replace «old words» with «new words», or change %s: and the whole new text.",
		newHow:    "Write: new summary, a title, a colon and the text, all in one message.",
		taken:     "The book has a summary %s already; change that one, or choose another title.",
		valueHow:  "Say it in one sentence, like: U11 long crosse is 47 to 54 from 2027-03-01, league decision of 12 January",
		tooLong:   "That text is too long for one message, and I took none of it. Send at most %d characters, or edit the file in the book's folder.",
		notText:   "Some of that is no readable text (it is not valid UTF-8), so I took none of it. Please paste it as plain text.",
		empty:     "There is no text in that, so I changed nothing.",
		notFound:  "%s does not say «%s».", oftenFound: "%s says «%s» %d times; quote more of the sentence.",

		draft:       "Not published yet (change %s): %s",
		contradicts: "Contradicts the sheet: %s", finding: "To look at: %s", more: "and %d more",
		what: "Value: %s", whom: "For: %s", before: "Now: %s", after: "New: %s", nowhere: "nothing",
		sameValue: "No value that holds would change by this.", differs: "Would be answered differently: %s (%s) %s → %s",
		publish: "Publish", cancel: "Cancel", show: "Show all of it",
		difference: "The lines that change", values: "The values that change", lint: "What is wrong with it", answers: "Questions answered differently",
		two: "It takes %d admins to publish it.", stillOf: "%d of %d admins have agreed.",
		noDraft: "You have no change that waits.", whichDraft: "I know no change %s.",
		cancelled: "Cancelled; the book stays as it is.", isCancelled: "That change was cancelled already.",
		published: "Published as revision %d: %s", isPublished: "That change is published already, as revision %d.",
		after2: "It stands, but: %s", revoked: "That change was begun by somebody who is no admin any more. It is dropped; the book stays as it is.",
		needOther: "Noted. Another admin has to publish it too: by the button, or with \"publish %s\".",
		waits:     "A change waits for another admin (change %s): %s",
		waitsHead: "%d of your changes wait.", draftsHead: "Change %s: %s",
		stale: "Not published: %s. Here is your change on the book of now.", wrong: "That would break the book, so I changed nothing:",
		unchanged: "Nothing would change by that.",

		history: "What was published last:", historyNone: "Nothing was published yet.", historyLine: "%d · %s · %s · %s", undo: "Undo %d", undoOf: "It cannot be undone: %s",

		changes: "What changed for %s in season %s:", changesNone: "Nothing in the book changed for %s in season %s.", changesWhich: "For which division? The book has %s.",
		changesLine: "%s: %s (before: %s), %s", changesAll: "All changes",

		open: "%d open questions in %d days, those that ask alike together:", openNone: "No open questions in %d days.",
		openLine: "%d× “%s” (%s)", openDraft: "Draft %d", openGone: "That question is answered or too old by now.", openHow: "Write \"draft 2\" to begin a summary from the second.",
		whyNone: "nothing found", whyNeed: "asked back, no reply", whyMissed: "said to be no answer",
		adminsAre: "%d admins are in the settings.", adminsMore: "%d were named here.", adminNamed: "Done: they keep the book too, from now on.",
		adminGone: "Done: they keep the book no more, and what they had not published is dropped.", adminUnknown: "They are no admin that was named here.",
		adminSet: "They are an admin by the settings, which I cannot change from here.", adminWho: "Whom? Mention one person, or write the platform's id.",
		broken: "The book's folder does not load; the last good book goes on serving.",

		formEdit: "Edit a summary", formNew: "New summary", formValue: "Change a value", formSend: "See the change", formText: "Text (Markdown)", formTitle: "Title",
		formAsked: "What people ask, one a line", formAdd: "Another section", formAddHint: "Begin with ## and a heading.", formWhy: "Why", formWhyHint: "It stands in the history.",
		formSaying: "The new value, in one sentence", formStale: "Somebody has changed this summary since you opened it. Copy your words, close this and open it again.",
		formLong: "Too long: at most %d characters.", formSlow: "This takes longer than a form can wait. Close it and write \"my changes\" to me in a minute.",
		formNoTitle: "Use some letters or digits.",
	},
	"es": {
		onlyAdmins: "Solo los administradores del club llevan el libro. No cambié nada; dígale a uno de ellos qué debería ser distinto.",
		noBook:     "Uso el libro que viene con el programa, y ese no se puede cambiar.",
		noBookHow:  "El club necesita antes una copia propia: sidewall book new our-book la escribe, y con el ajuste book: our-book la uso después de reiniciar.",
		begin:      "Escribir una copia", begun: "Escribí el libro propio del club en %s.",
		begunNext:   "Ponga book en esa carpeta (en sidewall.yaml, o SIDEWALL_BOOK) y reinícieme; después se puede cambiar desde aquí.",
		beginFailed: "No se pudo escribir la copia: %s",

		list: "El libro tiene %d resúmenes.", listAbout: "Resúmenes sobre %s: %d.", listNone: "Ningún resumen trata de %s.",
		listMore:  "y %d más; agregue \"sobre\" y una palabra para encontrar uno",
		listHow:   "Escriba \"muestra\" y un nombre para leer uno.",
		noSummary: "El libro no tiene un resumen llamado \"%s\".", noSummaryNear: "¿Quiso decir %s?",
		whole: "Texto completo", edit: "Editar", about: "Para %s; revisado el %s por: %s.",
		changeHow: "Para cambiarlo: en %s reemplaza «palabras viejas» por «palabras nuevas», o cambia %s: y todo el texto nuevo.",
		newHow:    "Escriba: nuevo resumen, un título, dos puntos y el texto, todo en un mensaje.",
		taken:     "El libro ya tiene un resumen %s; cambie ese, o elija otro título.",
		valueHow:  "Dígalo en una frase, como: el palo largo de los sub 11 es 47 a 54 desde 1 de marzo de 2027, decisión de la liga",
		tooLong:   "Ese texto es demasiado largo para un mensaje, y no tomé nada. Mande como máximo %d caracteres, o edite el archivo en la carpeta del libro.",
		notText:   "Una parte no es texto legible (no es UTF-8 válido), así que no tomé nada. Péguelo como texto simple.",
		empty:     "No hay texto ahí, así que no cambié nada.",
		notFound:  "%s no dice «%s».", oftenFound: "%s dice «%s» %d veces; cite más de la frase.",

		draft:       "Aún sin publicar (cambio %s): %s",
		contradicts: "Contradice la hoja: %s", finding: "Para revisar: %s", more: "y %d más",
		what: "Valor: %s", whom: "Para: %s", before: "Ahora: %s", after: "Nuevo: %s", nowhere: "nada",
		sameValue: "Con esto no cambia ningún valor vigente.", differs: "Se respondería distinto: %s (%s) %s → %s",
		publish: "Publicar", cancel: "Cancelar", show: "Mostrar todo",
		difference: "Las líneas que cambian", values: "Los valores que cambian", lint: "Qué está mal", answers: "Preguntas con otra respuesta",
		two: "Hacen falta %d administradores para publicarlo.", stillOf: "%d de %d administradores están de acuerdo.",
		noDraft: "No tiene ningún cambio pendiente.", whichDraft: "No conozco el cambio %s.",
		cancelled: "Cancelado; el libro queda como está.", isCancelled: "Ese cambio ya se canceló.",
		published: "Publicado como revisión %d: %s", isPublished: "Ese cambio ya está publicado, como revisión %d.",
		after2: "Vale, pero: %s", revoked: "Ese cambio lo empezó alguien que ya no es administrador. Se descarta; el libro queda como está.",
		needOther: "Anotado. Otro administrador tiene que publicarlo también: con el botón, o con \"publica %s\".",
		waits:     "Un cambio espera a otro administrador (cambio %s): %s",
		waitsHead: "Tiene %d cambios pendientes.", draftsHead: "Cambio %s: %s",
		stale: "No se publicó: %s. Aquí está su cambio sobre el libro de ahora.", wrong: "Eso rompería el libro, así que no cambié nada:",
		unchanged: "Con eso no cambiaría nada.",

		history: "Lo último que se publicó:", historyNone: "Aún no se publicó nada.", historyLine: "%d · %s · %s · %s", undo: "Deshacer %d", undoOf: "No se puede deshacer: %s",

		changes: "Qué cambió para %s en la temporada %s:", changesNone: "Nada del libro cambió para %s en la temporada %s.", changesWhich: "¿Para qué división? El libro tiene %s.",
		changesLine: "%s: %s (antes: %s), %s", changesAll: "Todos los cambios",

		open: "%d preguntas abiertas en %d días, juntas las que piden lo mismo:", openNone: "No hay preguntas abiertas en %d días.",
		openLine: "%d× “%s” (%s)", openDraft: "Redactar %d", openGone: "Esa pregunta ya está respondida o es muy vieja.", openHow: "Escriba \"redacta 2\" para empezar un resumen con la segunda.",
		whyNone: "sin respuesta", whyNeed: "faltó un dato", whyMissed: "no le respondió",
		adminsAre: "%d administradores están en los ajustes.", adminsMore: "%d se nombraron aquí.", adminNamed: "Listo: desde ahora también lleva el libro.",
		adminGone: "Listo: ya no lleva el libro, y lo que no había publicado se descarta.", adminUnknown: "No es un administrador nombrado aquí.",
		adminSet: "Es administrador por los ajustes, que no puedo cambiar desde aquí.", adminWho: "¿A quién? Mencione a una persona, o escriba el id de la plataforma.",
		broken: "La carpeta del libro no se puede leer; sigue el último libro bueno.",

		formEdit: "Editar un resumen", formNew: "Nuevo resumen", formValue: "Cambiar un valor", formSend: "Ver el cambio", formText: "Texto (Markdown)", formTitle: "Título",
		formAsked: "Qué pregunta la gente, una por línea", formAdd: "Otra sección", formAddHint: "Empiece con ## y un título.", formWhy: "Por qué", formWhyHint: "Queda en el historial.",
		formSaying: "El nuevo valor, en una frase", formStale: "Alguien cambió este resumen desde que lo abrió. Copie su texto, cierre esto y ábralo otra vez.",
		formLong: "Demasiado largo: como máximo %d caracteres.", formSlow: "Tarda más de lo que un formulario espera. Ciérrelo y escríbame \"mis cambios\" en un minuto.",
		formNoTitle: "Use algunas letras o cifras.",
	},
}
