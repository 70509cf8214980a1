package fakeslack

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"unicode/utf16"
)

// The limits that Slack documents for Block Kit, as tables: each kind of block,
// element and object has the properties that it may have, and each property a
// check. A property that is not in its table is refused, as Slack does.

// obj is a JSON object.
type obj = map[string]any

// checker collects what is wrong, each with the JSON pointer of its place.
type checker struct {
	root    string // where the blocks are: "message", "modal" or "home"
	wrong   []string
	blocks  map[string]bool // block ids so far
	actions map[string]bool // action ids so far in this block
	focus   int
	md      int // characters in markdown blocks
	tables  int
	inputs  int
}

func (c *checker) bad(at, format string, args ...any) {
	c.wrong = append(c.wrong, fmt.Sprintf("[ERROR] %s [json-pointer:%s]", fmt.Sprintf(format, args...), at))
}

// check looks at one property's value.
type check func(c *checker, at string, v any)

// kind is what an object of one type may hold.
type kind struct {
	need  []string
	props map[string]check
	also  func(c *checker, at string, m obj)
}

// size counts as the strictest reader would: UTF-16 units, so that an emoji is two.
func size(s string) int {
	n := 0
	for _, r := range s {
		n += max(1, utf16.RuneLen(r))
	}
	return n
}

func str(least, most int) check {
	return func(c *checker, at string, v any) {
		s, ok := v.(string)
		switch n := size(s); {
		case !ok:
			c.bad(at, "must be a string")
		case n < least:
			c.bad(at, "must be more than %d characters", least-1)
		case n > most:
			c.bad(at, "must be less than %d characters", most+1)
		}
	}
}

func flag(c *checker, at string, v any) {
	if _, ok := v.(bool); !ok {
		c.bad(at, "must be a boolean")
	}
}

func whole(least, most int) check {
	return func(c *checker, at string, v any) {
		f, ok := v.(float64)
		if !ok || f != float64(int(f)) || int(f) < least || int(f) > most {
			c.bad(at, "must be an integer between %d and %d", least, most)
		}
	}
}

func oneOf(words ...string) check {
	return func(c *checker, at string, v any) {
		if s, ok := v.(string); !ok || !slices.Contains(words, s) {
			c.bad(at, "failed to match one of the allowed values: %s", strings.Join(words, ", "))
		}
	}
}

func link(most int) check {
	return func(c *checker, at string, v any) {
		str(1, most)(c, at, v)
		s, _ := v.(string)
		u, err := url.Parse(s)
		if err != nil || u.Scheme == "" || u.Host == "" && u.Opaque == "" || strings.ContainsAny(s, " <>\"") {
			c.bad(at, "invalid url")
		}
	}
}

func list(least, most int, item check) check {
	return func(c *checker, at string, v any) {
		l, ok := v.([]any)
		switch {
		case !ok:
			c.bad(at, "must provide an array")
			return
		case len(l) < least:
			c.bad(at, "no less than %d items allowed", least)
		case len(l) > most:
			c.bad(at, "no more than %d items allowed", most)
		}
		for i, v := range l {
			item(c, fmt.Sprintf("%s/%d", at, i), v)
		}
	}
}

func object(k kind) check {
	return func(c *checker, at string, v any) {
		m, ok := v.(obj)
		if !ok {
			c.bad(at, "must provide an object")
			return
		}
		for _, name := range k.need {
			if _, ok := m[name]; !ok {
				c.bad(at, "missing required field: %s", name)
			}
		}
		for _, name := range sortedKeys(m) {
			if p := k.props[name]; p != nil {
				p(c, at+"/"+name, m[name])
			} else {
				c.bad(at, "invalid additional property: %s", name)
			}
		}
		if k.also != nil {
			k.also(c, at, m)
		}
	}
}

// typed picks the table by the object's type.
func typed(kinds map[string]kind, only ...string) check {
	return func(c *checker, at string, v any) {
		m, ok := v.(obj)
		if !ok {
			c.bad(at, "must provide an object")
			return
		}
		t, ok := m["type"].(string)
		if !ok {
			c.bad(at, "missing required field: type")
			return
		}
		k, known := kinds[t]
		if !known || len(only) > 0 && !slices.Contains(only, t) {
			c.bad(at+"/type", "unsupported type: %s", t)
			return
		}
		object(k)(c, at, v)
	}
}

func anything(*checker, string, any) {}

func sortedKeys(m obj) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// textOf is a text object of the given types.
func textOf(most int, types ...string) check {
	return typed(map[string]kind{
		"plain_text": {need: []string{"text"}, props: map[string]check{"type": anything, "text": str(1, most), "emoji": flag}},
		"mrkdwn":     {need: []string{"text"}, props: map[string]check{"type": anything, "text": str(1, most), "verbatim": flag}},
	}, types...)
}

func plain(most int) check { return textOf(most, "plain_text") }
func text(most int) check  { return textOf(most, "plain_text", "mrkdwn") }

// with is a copy of props with more.
func with(props map[string]check, more map[string]check) map[string]check {
	out := map[string]check{"type": anything}
	for k, v := range props {
		out[k] = v
	}
	for k, v := range more {
		out[k] = v
	}
	return out
}

var (
	style   = oneOf("primary", "danger")
	confirm = object(kind{need: []string{"text"}, props: map[string]check{
		"title": plain(100), "text": text(300), "confirm": plain(30), "deny": plain(30), "style": style,
	}})
	option = func(t check, urls bool) check {
		k := kind{need: []string{"text", "value"}, props: map[string]check{
			"text": t, "value": str(1, 150), "description": text(75),
		}}
		if urls {
			k.props["url"] = link(3000)
		}
		return object(k)
	}
	dispatch = object(kind{props: map[string]check{
		"trigger_actions_on": list(1, 2, oneOf("on_enter_pressed", "on_character_entered")),
	}})
	groups = list(1, 100, object(kind{need: []string{"label", "options"}, props: map[string]check{
		"label": plain(75), "options": list(1, 100, option(plain(75), false)),
	}}))
	filter = object(kind{props: map[string]check{
		"include":                          list(1, 4, oneOf("im", "mpim", "private", "public")),
		"exclude_external_shared_channels": flag, "exclude_bot_users": flag,
	}})

	acting   = map[string]check{"action_id": actionID, "confirm": confirm}
	focusing = with(acting, map[string]check{"focus_on_load": focus})
	holding  = with(focusing, map[string]check{"placeholder": plain(150)})
	typing   = map[string]check{
		"action_id": actionID, "focus_on_load": focus, "placeholder": plain(150), "dispatch_action_config": dispatch,
		"initial_value": str(1, 3000),
	}
	several = with(holding, map[string]check{"max_selected_items": whole(1, 1000)})
	picture = map[string]check{
		"image_url": link(3000), "alt_text": str(1, 2000),
		"slack_file": object(kind{props: map[string]check{"url": link(3000), "id": str(1, 255)}, also: exactlyOne("id", "url")}),
	}
)

func actionID(c *checker, at string, v any) {
	str(1, 255)(c, at, v)
	if s, _ := v.(string); s != "" {
		if c.actions[s] {
			c.bad(at, "`action_id` %q already exists for the block", s)
		}
		c.actions[s] = true
	}
}

func focus(c *checker, at string, v any) {
	flag(c, at, v)
	if v == true {
		if c.focus++; c.focus > 1 {
			c.bad(at, "only one element may have `focus_on_load`")
		}
	}
}

func exactlyOne(a, b string) func(c *checker, at string, m obj) {
	return func(c *checker, at string, m obj) {
		_, x := m[a]
		_, y := m[b]
		if x == y {
			c.bad(at, "must define either `%s` or `%s`", a, b)
		}
	}
}

// chosen checks that what is chosen from the start is among the options.
func chosen(also func(c *checker, at string, m obj)) func(c *checker, at string, m obj) {
	return func(c *checker, at string, m obj) {
		if also != nil {
			also(c, at, m)
		}
		have := map[string]bool{}
		collect := func(v any) {
			l, _ := v.([]any)
			for _, o := range l {
				b, _ := json.Marshal(o)
				have[string(b)] = true
			}
		}
		collect(m["options"])
		if l, ok := m["option_groups"].([]any); ok {
			for _, g := range l {
				if g, ok := g.(obj); ok {
					collect(g["options"])
				}
			}
		}
		first, _ := m["initial_options"].([]any)
		if o, ok := m["initial_option"]; ok {
			first = append(first, o)
		}
		for _, o := range first {
			if b, _ := json.Marshal(o); !have[string(b)] {
				c.bad(at, "initial option is not among the options")
			}
		}
	}
}

func choice(props map[string]check, most int, t check) kind {
	o := option(t, false)
	return kind{need: []string{"options"}, also: chosen(nil), props: with(props, map[string]check{
		"options": list(1, most, o), "initial_option": o, "initial_options": list(1, most, o),
	})}
}

func menu(props map[string]check) kind {
	o := option(plain(75), false)
	return kind{also: chosen(exactlyOne("options", "option_groups")), props: with(props, map[string]check{
		"options": list(1, 100, o), "option_groups": groups, "initial_option": o, "initial_options": list(1, 100, o),
	})}
}

func feedback() check {
	return object(kind{need: []string{"text", "value"}, props: map[string]check{
		"text": plain(75), "value": str(1, 2000), "accessibility_label": str(1, 75),
	}})
}

var elements = map[string]kind{
	"button": {need: []string{"text"}, props: with(acting, map[string]check{
		"text": plain(75), "value": str(1, 2000), "url": link(3000), "style": style, "accessibility_label": str(1, 75),
	})},
	"image":               {need: []string{"alt_text"}, props: with(picture, nil), also: exactlyOne("image_url", "slack_file")},
	"checkboxes":          choice(focusing, 10, text(75)),
	"radio_buttons":       choice(focusing, 10, text(75)),
	"static_select":       menu(holding),
	"overflow":            {need: []string{"options"}, props: with(acting, map[string]check{"options": list(1, 5, option(plain(75), true))})},
	"datepicker":          {props: with(holding, map[string]check{"initial_date": str(10, 10)})},
	"timepicker":          {props: with(holding, map[string]check{"initial_time": str(5, 5), "timezone": str(1, 255)})},
	"datetimepicker":      {props: with(focusing, map[string]check{"initial_date_time": whole(1_000_000_000, 9_999_999_999)})},
	"users_select":        {props: with(holding, map[string]check{"initial_user": str(1, 255)})},
	"channels_select":     {props: with(holding, map[string]check{"initial_channel": str(1, 255), "response_url_enabled": flag})},
	"external_select":     {props: with(holding, map[string]check{"initial_option": option(plain(75), false), "min_query_length": whole(0, 255)})},
	"multi_static_select": menu(several),
	"conversations_select": {props: with(holding, map[string]check{
		"initial_conversation": str(1, 255), "default_to_current_conversation": flag, "response_url_enabled": flag, "filter": filter,
	})},
	"plain_text_input": {props: with(typing, map[string]check{
		"multiline": flag, "min_length": whole(0, 3000), "max_length": whole(1, 3000),
	})},
	"email_text_input": {props: with(typing, nil)},
	"url_text_input":   {props: with(typing, nil)},
	"number_input": {need: []string{"is_decimal_allowed"}, props: with(typing, map[string]check{
		"is_decimal_allowed": flag, "min_value": str(1, 255), "max_value": str(1, 255),
	})},
	"feedback_buttons": {need: []string{"positive_button", "negative_button"}, props: map[string]check{
		"type": anything, "action_id": actionID, "positive_button": feedback(), "negative_button": feedback(),
	}},
	"icon_button": {need: []string{"icon", "text"}, props: with(acting, map[string]check{
		"icon": oneOf("trash"), "text": plain(75), "value": str(1, 2000), "accessibility_label": str(1, 75),
		"visible_to_user_ids": list(1, 100, str(1, 255)),
	})},
}

var (
	menus  = []string{"static_select", "users_select", "channels_select", "external_select", "conversations_select", "multi_static_select"}
	picks  = append([]string{"checkboxes", "radio_buttons", "datepicker", "timepicker", "datetimepicker"}, menus...)
	inputs = append([]string{"plain_text_input", "email_text_input", "url_text_input", "number_input"}, picks...)
)

// block tables; a type that is not here is refused, also where Slack would take it.
var blocks = map[string]kind{
	"section": {
		props: map[string]check{
			"text": text(3000), "fields": list(1, 10, text(2000)), "expand": flag,
			"accessory": typed(elements, append([]string{"button", "image", "overflow"}, picks...)...),
		},
		also: func(c *checker, at string, m obj) {
			if m["text"] == nil && m["fields"] == nil {
				c.bad(at, "must define either `text` or `fields`")
			}
		},
	},
	"header":  {need: []string{"text"}, props: map[string]check{"text": plain(150)}},
	"divider": {},
	"context": {need: []string{"elements"}, props: map[string]check{"elements": list(1, 10, contextElement)}},
	"actions": {need: []string{"elements"}, props: map[string]check{
		"elements": list(1, 25, typed(elements, append([]string{"button", "overflow"}, picks...)...)),
	}},
	"context_actions": {need: []string{"elements"}, props: map[string]check{
		"elements": list(1, 5, typed(elements, "feedback_buttons", "icon_button")),
	}},
	"image": {need: []string{"alt_text"}, props: with(picture, map[string]check{"title": plain(2000)}), also: exactlyOne("image_url", "slack_file")},
	"input": {need: []string{"label", "element"}, props: map[string]check{
		"label": plain(2000), "hint": plain(2000), "optional": flag, "dispatch_action": flag, "element": typed(elements, inputs...),
	}, also: func(c *checker, _ string, _ obj) { c.inputs++ }},
	"markdown": {need: []string{"text"}, props: map[string]check{"text": func(c *checker, at string, v any) {
		str(1, 12000)(c, at, v)
		s, _ := v.(string)
		c.md += size(s)
	}}},
	"table": {need: []string{"rows"}, props: map[string]check{
		"rows": list(1, 100, list(1, 20, cell)),
		"column_settings": list(0, 20, object(kind{props: map[string]check{
			"align": oneOf("left", "center", "right"), "is_wrapped": flag,
		}})),
	}, also: func(c *checker, at string, _ obj) {
		if c.tables++; c.tables > 1 {
			c.bad(at, "only one table allowed")
		}
	}},
	"rich_text": {need: []string{"elements"}, props: map[string]check{"elements": list(1, 1000, richBlock)}},
}

// A page has no blocks that only messages have, and the other way round.
var onlyMessages = []string{"markdown", "table", "context_actions"}

func contextElement(c *checker, at string, v any) {
	if m, ok := v.(obj); ok && m["type"] == "image" {
		typed(elements, "image")(c, at, v)
		return
	}
	text(3000)(c, at, v)
}

func cell(c *checker, at string, v any) {
	typed(map[string]kind{
		"raw_text":   {need: []string{"text"}, props: map[string]check{"type": anything, "text": str(1, 3000)}},
		"raw_number": {need: []string{"value", "text"}, props: map[string]check{"type": anything, "value": anything, "text": str(1, 3000)}},
		"rich_text":  {need: []string{"elements"}, props: map[string]check{"type": anything, "elements": list(1, 1000, richBlock)}},
	})(c, at, v)
}

var styled = map[string]check{"style": object(kind{props: map[string]check{
	"bold": flag, "italic": flag, "strike": flag, "code": flag, "underline": flag,
}})}

var richKinds = map[string]kind{
	"text":      {need: []string{"text"}, props: with(styled, map[string]check{"text": str(1, 40000)})},
	"link":      {need: []string{"url"}, props: with(styled, map[string]check{"url": link(3000), "text": str(1, 3000), "unsafe": flag})},
	"emoji":     {need: []string{"name"}, props: with(styled, map[string]check{"name": str(1, 255), "unicode": str(1, 255)})},
	"user":      {need: []string{"user_id"}, props: with(styled, map[string]check{"user_id": str(1, 255)})},
	"channel":   {need: []string{"channel_id"}, props: with(styled, map[string]check{"channel_id": str(1, 255)})},
	"broadcast": {need: []string{"range"}, props: with(styled, map[string]check{"range": oneOf("here", "channel", "everyone")})},
}

func richBlock(c *checker, at string, v any) {
	inline := list(0, 1000, typed(richKinds))
	section := kind{need: []string{"elements"}, props: map[string]check{"type": anything, "elements": inline, "border": whole(0, 1)}}
	typed(map[string]kind{
		"rich_text_section": section, "rich_text_quote": section, "rich_text_preformatted": section,
		"rich_text_list": {need: []string{"elements", "style"}, props: map[string]check{
			"type": anything, "style": oneOf("bullet", "ordered"), "indent": whole(0, 8), "border": whole(0, 1), "offset": whole(0, 1000),
			"elements": list(1, 1000, typed(map[string]kind{"rich_text_section": section})),
		}},
	})(c, at, v)
}

func (c *checker) block(at string, v any) {
	c.actions = map[string]bool{}
	m, ok := v.(obj)
	if !ok {
		c.bad(at, "must provide an object")
		return
	}
	t, _ := m["type"].(string)
	k, known := blocks[t]
	switch {
	case t == "":
		c.bad(at, "missing required field: type")
		return
	case !known || c.root != "message" && slices.Contains(onlyMessages, t):
		c.bad(at+"/type", "unsupported type: %s", t)
		return
	}
	k.props = with(k.props, map[string]check{"block_id": func(c *checker, at string, v any) {
		str(1, 255)(c, at, v)
		if s, _ := v.(string); s != "" {
			if c.blocks[s] {
				c.bad(at, "`block_id` %q already exists", s)
			}
			c.blocks[s] = true
		}
	}})
	object(k)(c, at, v)
}

func (c *checker) all(at string, v any, most int) {
	c.blocks = map[string]bool{}
	l, ok := v.([]any)
	if !ok {
		c.bad(at, "must provide an array")
		return
	}
	if len(l) > most {
		c.bad(at, "no more than %d items allowed", most)
	}
	for i, b := range l {
		c.block(fmt.Sprintf("%s/%d", at, i), b)
	}
	if c.md > 12000 {
		c.bad(at, "markdown blocks must be less than 12001 characters in all")
	}
}

// CheckBlocks says what Slack would refuse in a message's blocks; nil for nothing.
// It knows the kinds of block that a bot of words and buttons uses, and refuses
// the others.
func CheckBlocks(raw json.RawMessage) []string {
	c := &checker{root: "message"}
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		c.bad("/blocks", "not JSON")
		return c.wrong
	}
	c.all("/blocks", v, 50)
	return c.wrong
}

// CheckView says what Slack would refuse in a modal or home page.
func CheckView(raw json.RawMessage) []string {
	var m obj
	if err := json.Unmarshal(raw, &m); err != nil || m == nil {
		return []string{"[ERROR] must provide an object [json-pointer:/view]"}
	}
	t, _ := m["type"].(string)
	c := &checker{root: t}
	k := kind{need: []string{"type", "blocks"}, props: map[string]check{
		"type": oneOf("modal", "home"), "private_metadata": str(0, 3000), "callback_id": str(0, 255), "external_id": str(0, 255),
		"blocks": func(c *checker, at string, v any) { c.all(at, v, 100) },
	}}
	if t == "modal" {
		k.need = append(k.need, "title")
		k.props = with(k.props, map[string]check{
			"type": oneOf("modal"), "title": plain(24), "close": plain(24), "submit": plain(24),
			"clear_on_close": flag, "notify_on_close": flag, "submit_disabled": flag,
		})
		k.also = func(c *checker, at string, m obj) {
			if _, ok := m["submit"]; c.inputs > 0 && !ok {
				c.bad(at, "`submit` required when an `input` block is within blocks array")
			}
		}
	}
	object(k)(c, "/view", m)
	return c.wrong
}

// blockText is how many characters a message's blocks show in all.
func blockText(v any) int {
	n := 0
	switch v := v.(type) {
	case []any:
		for _, x := range v {
			n += blockText(x)
		}
	case obj:
		for k, x := range v {
			if s, ok := x.(string); ok && k == "text" {
				n += size(s)
			} else {
				n += blockText(x)
			}
		}
	}
	return n
}
