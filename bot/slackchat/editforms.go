package slackchat

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"sidewall/bot"
)

// Bounds of a modal's form and of what may come with an acknowledgement; Slack
// drops a larger one without a word.
const (
	maxInput    = 3000
	maxHint     = 2000
	maxAckBytes = 20_000
)

// input is the action id of a form's fields; each stands in a block of its own.
const input = "text"

// Opens says whether an event can be answered with a modal: Slack wants something
// that was pressed or a command for it.
func (a *Adapter) Opens(e *bot.Event) bool {
	return (e.Kind == bot.Pressed || e.Kind == bot.Command) && backOf(e).Trigger != ""
}

// formBlocks are a form's fields.
func formBlocks(f *bot.Form) []slack.Block {
	var out []slack.Block
	for _, x := range f.Fields {
		most := maxInput
		if x.Most > 0 {
			most = min(most, x.Most)
		}
		e := slack.NewPlainTextInputBlockElement(nil, input)
		e.Multiline, e.MaxLength = x.Long, most
		if size(x.Value) <= most {
			e.InitialValue = x.Value
		}
		label := cutTo(oneLine(x.Label), maxHint)
		if label == "" {
			label = "…"
		}
		var hint *slack.TextBlockObject
		if h := cutTo(oneLine(x.Hint), maxHint); h != "" {
			hint = plain(h)
		}
		out = append(out, slack.NewInputBlock(x.ID, plain(label), hint, e).WithOptional(x.Optional))
	}
	return out
}

// withForm puts a form into a modal, below its blocks.
func withForm(m *slack.ModalViewRequest, v *bot.View) {
	fields := formBlocks(v.Form)
	if len(v.Blocks) == 0 {
		m.Blocks.BlockSet = nil // the title says it
	}
	if n := maxViewBlocks - len(fields); len(m.Blocks.BlockSet) > n {
		m.Blocks.BlockSet = m.Blocks.BlockSet[:n]
	}
	m.Blocks.BlockSet = append(m.Blocks.BlockSet, fields...)
	m.CallbackID, m.PrivateMetadata = v.Form.ID, v.Form.Keep
	m.Submit = plain(cutTo(oneLine(v.Form.Send), maxTitle))
}

// tooLate is what stands where a form could not be opened in time.
var tooLate = map[string]string{
	"en": "That took too long to open here. Please press it again.",
	"es": "Tardó demasiado en abrirse. Púlselo otra vez.",
}

func tooLateIn(lang string) string {
	if s := tooLate[lang]; s != "" {
		return s
	}
	return tooLate["en"]
}

// translateFilled reads a modal that was submitted; nil where it is none of ours.
func translateFilled(raw []byte, me *identity) (*bot.Filled, error) {
	var p struct {
		Trigger string `json:"trigger_id"`
		User    struct {
			ID string `json:"id"`
		} `json:"user"`
		View struct {
			Callback string `json:"callback_id"`
			Metadata string `json:"private_metadata"`
			State    struct {
				Values map[string]map[string]struct {
					Value *string `json:"value"`
				} `json:"values"`
			} `json:"state"`
		} `json:"view"`
	}
	if err := json.Unmarshal(raw, &p); err != nil {
		return nil, fmt.Errorf("read a form: %w", noWords(err))
	}
	if p.View.Callback == "" || p.Trigger == "" {
		return nil, nil
	}
	f := &bot.Filled{Form: p.View.Callback, Keep: p.View.Metadata, Fields: map[string]string{},
		Event: bot.Event{Kind: bot.Pressed, ID: p.Trigger, Platform: Platform, Workspace: me.team, Person: p.User.ID}}
	for id, in := range p.View.State.Values {
		if x, ok := in[input]; ok {
			f.Fields[id] = ""
			if x.Value != nil {
				f.Fields[id] = *x.Value
			}
		}
	}
	return f, nil
}

// submit gives a form to the bot, and says what to acknowledge it with.
func (a *Adapter) submit(ctx context.Context, f *bot.Filled) (any, error) {
	ctx, cancel := context.WithTimeout(ctx, a.o.InHand)
	defer cancel()
	if a.o.Submit == nil {
		return nil, nil
	}
	o, err := a.o.Submit(ctx, *f)
	if err != nil {
		return nil, err
	}
	switch {
	case len(o.Wrong) > 0:
		wrong := map[string]string{}
		for id, why := range o.Wrong {
			if _, ok := f.Fields[id]; !ok && len(f.Fields) > 0 { // Slack refuses an error of a field that is not there
				id = slices.Min(slices.Collect(maps.Keys(f.Fields)))
			}
			wrong[id] = cutTo(oneLine(why), maxInput)
		}
		return slack.NewErrorsViewSubmissionResponse(wrong), nil
	case o.View != nil:
		m := modal(o.View)
		for {
			r := slack.NewUpdateViewSubmissionResponse(&m)
			raw, err := json.Marshal(r)
			if err != nil {
				return nil, fmt.Errorf("answer a form: %w", err)
			}
			keep := 0
			if o.View.Form != nil {
				keep = len(o.View.Form.Fields)
			}
			set := m.Blocks.BlockSet
			if len(raw) <= maxAckBytes || len(set) <= keep+1 {
				return r, nil
			}
			at := len(set) - keep - 1
			m.Blocks.BlockSet = append(append(append([]slack.Block{}, set[:at-btoi(at > 0)]...), slack.NewContextBlock("", mrkdwn("…"))), set[at+1:]...)
		}
	}
	return slack.NewClearViewSubmissionResponse(), nil
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// mentioned are the people that a message mentions, the bot apart.
func mentioned(text, me string) []string {
	var out []string
	for _, m := range angleRE().FindAllStringSubmatch(text, -1) {
		who, ok := strings.CutPrefix(m[1], "@")
		who, _, _ = strings.Cut(who, "|")
		if ok && who != me {
			out = append(out, who)
		}
	}
	return out
}
