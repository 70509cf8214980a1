package config

import (
	"time"
)

// Settings is what a club sets, from the file, the environment and the flags.
// Load validates it once; nothing later has to look again.
type Settings struct {
	File string // the settings file that was read; "" where there was none

	Book         string         // the folder of the club's book; "" is the shipped one
	BookCommit   bool           // commit each publication; the book's folder is kept in git
	BookConfirm  int            // how many admins have to publish a change; 0 is 1
	Date         string         // the day the rules must hold on, YYYY-MM-DD; "" is today
	Lang         string         // "en" or "es"; "" finds it from each question
	Contact      string         // whom to ask, instead of the book's contact
	Timezone     *time.Location // never nil
	Admins       []string       // who may publish and change bindings, by the service's user id
	AdminChannel string         // where the admins are told things, "slack:C0123"; "": nowhere
	Retention    time.Duration  // how long questions are kept
	Threads      time.Duration  // how long a conversation's facts are kept
	Rate         Rate           // how much one person may ask
	Channels     []Channel

	State   State
	Slack   Slack
	Matrix  Matrix
	Log     Log
	Metrics Metrics
}

// Channel binds a channel or room to a division and a position.
type Channel struct {
	ID       string
	Division string // "": none
	Position string // "": none
}

// Rate is how many questions a person may ask in a span of time; zero is no limit.
type Rate struct {
	Questions int
	Per       time.Duration
}

// State is where the bot remembers.
type State struct {
	Path string // of the SQLite file
}

// The ways in which Slack delivers.
const (
	SocketMode = "socket"
	HTTPMode   = "http"
)

// Slack is one Slack workspace.
type Slack struct {
	Mode          string // SocketMode or HTTPMode
	AppToken      Secret
	BotToken      Secret
	SigningSecret Secret
	Listen        string // host:port in HTTPMode
	APIURL        string // another Web API base address; "" is Slack's own
	Command       string // the slash command
}

// Missing names the keys that have to be set before Slack can run.
func (s Slack) Missing() []string {
	var out []string
	if s.BotToken.Empty() {
		out = append(out, "slack.bot_token")
	}
	switch {
	case s.Mode == HTTPMode && s.SigningSecret.Empty():
		out = append(out, "slack.signing_secret")
	case s.Mode == SocketMode && s.AppToken.Empty():
		out = append(out, "slack.app_token")
	}
	return out
}

// Matrix is one Matrix account.
type Matrix struct {
	Homeserver  string
	User        string // @name:server
	Password    Secret
	AccessToken Secret
	Encryption  bool
	Allow       []string // servers or people whose invitations it takes
	Prefix      string   // a word that speaks to the bot, such as "!rules"; "": none
	AdminRoom   string   // people with power in this room are admins; "": none
	AdminPower  int      // how much power that takes
}

// Missing names the keys that have to be set before Matrix can run.
func (m Matrix) Missing() []string {
	var out []string
	if m.Homeserver == "" {
		out = append(out, "matrix.homeserver")
	}
	if m.User == "" {
		out = append(out, "matrix.user")
	}
	if m.Password.Empty() && m.AccessToken.Empty() {
		out = append(out, "matrix.access_token or matrix.password")
	}
	return out
}

// The forms of the log's lines.
const (
	TextLog = "text" // key=value
	JSONLog = "json"
)

// Log is how the log is written.
type Log struct {
	Format string // TextLog or JSONLog
}

// Metrics is where the numbers are served.
type Metrics struct {
	Listen string // host:port, always with a host; "": nowhere
}

// defaults are the settings where nobody sets anything.
func defaults() *Settings {
	return &Settings{
		Timezone:  time.Local,
		Retention: 180 * 24 * time.Hour,
		Threads:   12 * time.Hour,
		Rate:      Rate{Questions: 30, Per: time.Minute},
		State:     State{Path: "sidewall.db"},
		Log:       Log{Format: TextLog},
		Slack:     Slack{Mode: SocketMode, Listen: "127.0.0.1:8420", Command: "/sidewall"},
		Matrix:    Matrix{AdminPower: 50},
	}
}
