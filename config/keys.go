package config

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"
)

// setting is one key: how it is called, what it is for, how a value gets into
// the settings.
type setting struct {
	name   string
	help   string
	secret bool
	set    func(l *loader, key string, v any) error
}

// keys is every setting there is.
var keys = withSecretFiles([]setting{
	{name: "book", help: "the folder of the club's book", set: path(func(s *Settings) *string { return &s.Book })},
	{name: "book_commit", help: "whether each publication is committed, where the book's folder is kept in git", set: yesNo(func(s *Settings) *bool { return &s.BookCommit })},
	{name: "book_confirm", help: "how many admins have to publish a change before it is one, 1 if not set", set: few(func(s *Settings) *int { return &s.BookConfirm })},
	{name: "date", help: "the day the rules must hold on", set: date(func(s *Settings) *string { return &s.Date })},
	{name: "lang", help: "the language of the answers: en or es", set: word(func(s *Settings) *string { return &s.Lang }, oneOf("en", "es"))},
	{name: "contact", help: "whom to ask, instead of the book's contact", set: word(func(s *Settings) *string { return &s.Contact }, nil)},
	{name: "timezone", help: "where the club plays, such as America/New_York", set: timezone},
	{name: "admins", help: "user ids of the admins", set: list(func(s *Settings) *[]string { return &s.Admins }, nil)},
	{name: "admin_channel", help: "where the admins are told of open questions and changes that wait, with the chat before it, such as slack:C0123", set: word(func(s *Settings) *string { return &s.AdminChannel }, nil)},
	{name: "retention", help: "how long questions are kept, such as 90d", set: span(func(s *Settings) *time.Duration { return &s.Retention })},
	{name: "threads", help: "how long a conversation's facts are kept, such as 12h", set: span(func(s *Settings) *time.Duration { return &s.Threads })},
	{name: "rate", help: "how many questions a person may ask in a time, such as 30/1m; or off", set: rate},
	{name: "channels", help: "a list of {id, division, position}", set: channels},
	{name: "state.path", help: "the file in which the bot remembers", set: path(func(s *Settings) *string { return &s.State.Path })},
	{name: "slack.mode", help: "socket or http", set: word(func(s *Settings) *string { return &s.Slack.Mode }, oneOf(SocketMode, HTTPMode))},
	{name: "slack.app_token", help: "the app-level token, for socket mode", secret: true, set: secret(func(s *Settings) *Secret { return &s.Slack.AppToken }, notPrefix("xoxb-", "this is a bot token; it belongs in slack.bot_token"))},
	{name: "slack.bot_token", help: "the bot token", secret: true, set: secret(func(s *Settings) *Secret { return &s.Slack.BotToken }, notPrefix("xapp-", "this is an app-level token; it belongs in slack.app_token"))},
	{name: "slack.signing_secret", help: "the signing secret, for http mode", secret: true, set: secret(func(s *Settings) *Secret { return &s.Slack.SigningSecret }, nil)},
	{name: "slack.listen", help: "host:port for http mode", set: word(func(s *Settings) *string { return &s.Slack.Listen }, hostPort)},
	{name: "slack.api_url", help: "another Web API base address", set: word(func(s *Settings) *string { return &s.Slack.APIURL }, webAddress)},
	{name: "slack.command", help: "the slash command", set: word(func(s *Settings) *string { return &s.Slack.Command }, slashCommand)},
	{name: "matrix.homeserver", help: "the homeserver's address", set: word(func(s *Settings) *string { return &s.Matrix.Homeserver }, webAddress)},
	{name: "matrix.user", help: "the bot's user id", set: word(func(s *Settings) *string { return &s.Matrix.User }, matrixUser)},
	{name: "matrix.password", help: "the bot's password", secret: true, set: secret(func(s *Settings) *Secret { return &s.Matrix.Password }, nil)},
	{name: "matrix.access_token", help: "the bot's access token, instead of a password", secret: true, set: secret(func(s *Settings) *Secret { return &s.Matrix.AccessToken }, nil)},
	{name: "matrix.encryption", help: "whether it reads and writes encrypted rooms", set: yesNo(func(s *Settings) *bool { return &s.Matrix.Encryption })},
	{name: "matrix.allow", help: "servers or people whose invitations it takes", set: list(func(s *Settings) *[]string { return &s.Matrix.Allow }, matrixAllow)},
	{name: "matrix.prefix", help: "a word that speaks to the bot where it stands first, such as !rules", set: word(func(s *Settings) *string { return &s.Matrix.Prefix }, oneWord)},
	{name: "matrix.admin_room", help: "a room's id; people with power in it are admins", set: word(func(s *Settings) *string { return &s.Matrix.AdminRoom }, matrixRoom)},
	{name: "matrix.admin_power", help: "how much power in that room an admin has, 50 if not set", set: power},
	{name: "log.format", help: "text or json, the form of the log's lines", set: word(func(s *Settings) *string { return &s.Log.Format }, oneOf(TextLog, JSONLog))},
	{name: "metrics.listen", help: "host:port of the metrics, /healthz and /readyz; a port alone is on this machine only; not set, nothing is served", set: listen(func(s *Settings) *string { return &s.Metrics.Listen })},
})

// Key is a setting as help lists it.
type Key struct{ Name, Env, Help string }

// Keys lists every setting.
func Keys() []Key {
	out := make([]Key, len(keys))
	for i, k := range keys {
		out[i] = Key{k.name, envName(k.name), k.help}
	}
	return out
}

// withSecretFiles adds the …_file key of each secret.
func withSecretFiles(in []setting) []setting {
	var out []setting
	for _, k := range in {
		out = append(out, k)
		if !k.secret {
			continue
		}
		into := k
		out = append(out, setting{name: k.name + "_file", help: "a file that holds " + k.name, set: func(l *loader, key string, v any) error {
			name, err := text(v)
			if err != nil || !l.o.Secrets {
				return err
			}
			value, err := readSecret(l.path(key, name))
			if err != nil {
				return err
			}
			return into.set(l, into.name, value)
		}})
	}
	return out
}

const maxSecret = 64 << 10

func readSecret(name string) (string, error) {
	info, err := os.Stat(name)
	if err != nil {
		return "", err
	}
	if info.Size() > maxSecret {
		return "", fmt.Errorf("%s is too large to hold one secret", name)
	}
	raw, err := os.ReadFile(name)
	if err != nil {
		return "", err
	}
	value := strings.TrimSpace(string(raw))
	if value == "" {
		return "", fmt.Errorf("%s is empty", name)
	}
	return value, nil
}

// text is a value that is one word or line. A number may be meant as a name,
// a yes or no hardly ever.
func text(v any) (string, error) {
	switch v := v.(type) {
	case string:
		return strings.TrimSpace(v), nil
	case int, int64, uint64, float64:
		return fmt.Sprint(v), nil
	}
	return "", fmt.Errorf("this must be a text, not %s", shape(v))
}

func shape(v any) string {
	switch v.(type) {
	case bool:
		return "true or false (put it in quotes)"
	case []any, []string:
		return "a list"
	case map[string]any, map[any]any:
		return "a group of keys"
	case time.Time:
		return "a date (put it in quotes)"
	}
	return fmt.Sprintf("%T", v)
}

type field[T any] func(*Settings) *T

func word(f field[string], check func(string) error) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		s, err := text(v)
		if err != nil {
			return err
		}
		if check != nil {
			if err := check(s); err != nil {
				return err
			}
		}
		*f(l.s) = s
		return nil
	}
}

func secret(f field[Secret], check func(string) error) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		s, err := text(v)
		if err != nil {
			return err
		}
		if check != nil {
			if err := check(s); err != nil { // check's words never hold the value
				return err
			}
		}
		*f(l.s) = NewSecret(s)
		return nil
	}
}

func path(f field[string]) func(*loader, string, any) error {
	return func(l *loader, key string, v any) error {
		s, err := text(v)
		if err != nil {
			return err
		}
		*f(l.s) = l.path(key, s)
		return nil
	}
}

func date(f field[string]) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		if t, ok := v.(time.Time); ok { // YAML reads an unquoted date as a time
			*f(l.s) = t.Format(time.DateOnly)
			return nil
		}
		s, err := text(v)
		if err != nil {
			return err
		}
		if _, err := time.Parse(time.DateOnly, s); err != nil {
			return fmt.Errorf("%q is no day; write it as 2027-04-10", s)
		}
		*f(l.s) = s
		return nil
	}
}

func yesNo(f field[bool]) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		switch v := v.(type) {
		case bool:
			*f(l.s) = v
			return nil
		case string:
			if b, err := strconv.ParseBool(strings.TrimSpace(v)); err == nil {
				*f(l.s) = b
				return nil
			}
			return fmt.Errorf("%q is neither true nor false", v)
		}
		return fmt.Errorf("this must be true or false, not %s", shape(v))
	}
}

// few takes a small number, from one.
func few(f field[int]) func(*loader, string, any) error {
	const most = 9
	return func(l *loader, _ string, v any) error {
		n, err := strconv.Atoi(fmt.Sprint(v))
		if err != nil || n < 1 || n > most {
			return fmt.Errorf("this must be a number from 1 to %d, not %v", most, v)
		}
		*f(l.s) = n
		return nil
	}
}

// list takes a list, or one text with commas.
func list(f field[[]string], check func(string) error) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		var raw []any
		switch v := v.(type) {
		case []any:
			raw = v
		case string:
			for _, s := range strings.Split(v, ",") {
				raw = append(raw, s)
			}
		default:
			return fmt.Errorf("this must be a list, not %s", shape(v))
		}
		var out []string
		for i, r := range raw {
			s, err := text(r)
			if err == nil && s == "" {
				err = errors.New("this is empty")
			}
			if err == nil && check != nil {
				err = check(s)
			}
			if err != nil {
				return fmt.Errorf("entry %d: %w", i+1, err)
			}
			out = append(out, s)
		}
		*f(l.s) = out
		return nil
	}
}

func timezone(l *loader, _ string, v any) error {
	s, err := text(v)
	if err != nil {
		return err
	}
	loc, err := time.LoadLocation(s)
	if err != nil {
		return fmt.Errorf("%q is no time zone; write one such as America/New_York", s)
	}
	l.s.Timezone = loc
	return nil
}

// span is a duration that may be in days or weeks.
func span(f field[time.Duration]) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		s, err := text(v)
		if err != nil {
			return err
		}
		d, err := ParseSpan(s)
		if err != nil {
			return err
		}
		*f(l.s) = d
		return nil
	}
}

// ParseSpan reads a length of time that may be in days or weeks.
func ParseSpan(s string) (time.Duration, error) {
	d, err := duration(s)
	if err != nil || d <= 0 {
		return 0, fmt.Errorf("%q is no length of time; write it as 90d, 12w or 36h", s)
	}
	return d, nil
}

func duration(s string) (time.Duration, error) {
	const day = 24 * time.Hour
	for suffix, unit := range map[string]time.Duration{"d": day, "w": 7 * day} {
		if n, ok := strings.CutSuffix(s, suffix); ok {
			k, err := strconv.Atoi(n)
			if err == nil && k > 36500 {
				err = errors.New("too long")
			}
			return time.Duration(k) * unit, err
		}
	}
	return time.ParseDuration(s)
}

// rate is a count and a time, "30/1m"; the 1 may be left out.
func rate(l *loader, _ string, v any) error {
	s, err := text(v)
	if err != nil {
		return err
	}
	if s == "off" {
		l.s.Rate = Rate{}
		return nil
	}
	count, per, ok := strings.Cut(s, "/")
	n, err := strconv.Atoi(strings.TrimSpace(count))
	per = strings.TrimSpace(per)
	if per != "" && strings.Trim(per, "smhdw") == "" {
		per = "1" + per
	}
	d, wrong := duration(per)
	if !ok || err != nil || wrong != nil || n <= 0 || d <= 0 {
		return fmt.Errorf("%q is no rate; write it as 30/1m, or off", s)
	}
	l.s.Rate = Rate{Questions: n, Per: d}
	return nil
}

var channelKeys = []string{"id", "division", "position"}

// channelPositions are the words by which a channel is bound.
var channelPositions = []string{"attack", "midfield", "defense", "goalkeeper", "field"}

func channels(l *loader, _ string, v any) error {
	if s, ok := v.(string); ok { // from the environment
		if err := json.Unmarshal([]byte(s), &v); err != nil {
			return fmt.Errorf(`write it as JSON, such as [{"id": "C1", "division": "U11"}]: %w`, err)
		}
	}
	entries, ok := v.([]any)
	if !ok {
		return fmt.Errorf("this must be a list of {id, division, position}, not %s", shape(v))
	}
	var out []Channel
	for i, e := range entries {
		m, ok := e.(map[string]any)
		if !ok {
			return fmt.Errorf("entry %d: this must be {id, division, position}, not %s", i+1, shape(e))
		}
		var c Channel
		for _, k := range slices.Sorted(maps.Keys(m)) {
			s, err := text(m[k])
			if err != nil {
				return fmt.Errorf("entry %d: %s: %w", i+1, k, err)
			}
			switch strings.ToLower(k) {
			case "id":
				c.ID = s
			case "division":
				c.Division = s
			case "position":
				c.Position = s
			default:
				what := fmt.Sprintf("entry %d: there is no key %s", i+1, k)
				if n := nearest(k, channelKeys); n != "" {
					what += "; did you mean " + n + "?"
				}
				return errors.New(what)
			}
		}
		if c.ID == "" {
			return fmt.Errorf("entry %d: the channel's id is missing", i+1)
		}
		if c.Position != "" && !slices.Contains(channelPositions, c.Position) {
			return fmt.Errorf("entry %d: position: %w", i+1, oneOf(channelPositions...)(c.Position))
		}
		if slices.ContainsFunc(out, func(o Channel) bool { return o.ID == c.ID }) {
			return fmt.Errorf("entry %d: channel %s stands here twice", i+1, c.ID)
		}
		out = append(out, c)
	}
	l.s.Channels = out
	return nil
}

func oneOf(words ...string) func(string) error {
	return func(s string) error {
		if slices.Contains(words, s) {
			return nil
		}
		if n := nearest(s, words); n != "" {
			return fmt.Errorf("%q is not known; did you mean %s?", s, n)
		}
		return fmt.Errorf("%q is not known; write one of %s", s, strings.Join(words, ", "))
	}
}

func notPrefix(prefix, what string) func(string) error {
	return func(s string) error {
		if strings.HasPrefix(s, prefix) {
			return errors.New(what)
		}
		return nil
	}
}

func hostPort(s string) error {
	_, port, err := net.SplitHostPort(s)
	if err != nil {
		return fmt.Errorf("%q is no address to listen on; write it as 127.0.0.1:8420", s)
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 {
		return fmt.Errorf("%q has no port between 0 and 65535", s)
	}
	return nil
}

// listen is host:port, where no host means this machine only: whoever wants to be
// reached from others has to write so.
func listen(f field[string]) func(*loader, string, any) error {
	return func(l *loader, _ string, v any) error {
		s, err := text(v)
		if err != nil {
			return err
		}
		if _, err := strconv.Atoi(s); err == nil {
			s = ":" + s
		}
		if err := hostPort(s); err != nil {
			return err
		}
		if host, port, _ := net.SplitHostPort(s); host == "" {
			s = net.JoinHostPort("127.0.0.1", port)
		}
		*f(l.s) = s
		return nil
	}
}

func webAddress(s string) error {
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return fmt.Errorf("%q is no address; write it as https://chat.example.org", s)
	}
	return nil
}

func slashCommand(s string) error {
	if len(s) < 2 || s[0] != '/' || strings.ContainsAny(s[1:], "/ \t") {
		return fmt.Errorf("%q is no slash command; write it as /sidewall", s)
	}
	return nil
}

func matrixUser(s string) error {
	name, server, ok := strings.Cut(s, ":")
	if !ok || len(name) < 2 || name[0] != '@' || server == "" {
		return fmt.Errorf("%q is no user id; write it as @sidewall:example.org", s)
	}
	return nil
}

func matrixAllow(s string) error {
	if strings.HasPrefix(s, "@") {
		return matrixUser(s)
	}
	if strings.ContainsAny(s, " /@") {
		return fmt.Errorf("%q is neither a server nor a person; write example.org or @name:example.org", s)
	}
	return nil
}

func matrixRoom(s string) error {
	if len(s) < 2 || s[0] != '!' {
		return fmt.Errorf("%q is no room id; write it as !abc:example.org", s)
	}
	return nil
}

func oneWord(s string) error {
	if s == "" || strings.ContainsAny(s, " \t") {
		return fmt.Errorf("%q is not one word; write it as !rules", s)
	}
	return nil
}

// power is a power level. Everybody has 0, so that it would make everybody an admin.
func power(l *loader, _ string, v any) error {
	s, err := text(v)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		return fmt.Errorf("%q is no power level of an admin; write a number above 0, such as 50", s)
	}
	l.s.Matrix.AdminPower = n
	return nil
}
