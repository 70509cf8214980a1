package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"sidewall/config"
)

// What each call and each event needs, as Slack documents it.
var (
	callScopes = map[string][]string{
		"AuthTestContext":                            nil,
		"PostMessageContext":                         {"chat:write"},
		"PostEphemeralContext":                       {"chat:write"},
		"UpdateMessageContext":                       {"chat:write"},
		"DeleteMessageContext":                       {"chat:write"},
		"GetConversationRepliesContext":              {"channels:history", "groups:history", "im:history", "mpim:history"},
		"OpenViewContext":                            nil,
		"PublishViewContext":                         nil,
		"StartSocketModeContext":                     nil, // the app-level token's own
		"SetAssistantThreadsSuggestedPromptsContext": {"assistant:write"},
	}
	eventScopes = map[string][]string{
		"app_home_opened":          nil,
		"app_mention":              {"app_mentions:read"},
		"assistant_thread_started": {"assistant:write"},
		"message.channels":         {"channels:history"},
		"message.groups":           {"groups:history"},
		"message.im":               {"im:history"},
		"message.mpim":             {"mpim:history"},
	}
)

// TestManifest wants that the manifest asks for what the adapter uses, and for
// nothing else.
func TestManifest(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(top, "config", "slack-manifest.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var m struct {
		Features struct {
			Commands []struct{ Command string } `yaml:"slash_commands"`
			Pane     map[string]string          `yaml:"assistant_view"`
		} `yaml:"features"`
		OAuth struct {
			Scopes map[string][]string `yaml:"scopes"`
		} `yaml:"oauth_config"`
		Settings struct {
			Events struct {
				Bot []string `yaml:"bot_events"`
			} `yaml:"event_subscriptions"`
			Interactivity struct {
				Enabled bool `yaml:"is_enabled"`
			} `yaml:"interactivity"`
			Socket bool `yaml:"socket_mode_enabled"`
		} `yaml:"settings"`
	}
	if err := yaml.Unmarshal(raw, &m); err != nil {
		t.Fatal(err)
	}
	code := adapterCode(t)

	var need []string
	used := map[string]bool{}
	for _, call := range regexp.MustCompile(`\ba\.api\.(\w+)\(`).FindAllStringSubmatch(code, -1) {
		scopes, ok := callScopes[call[1]]
		if !ok {
			t.Errorf("the adapter calls %s: which scopes does that need?", call[1])
		}
		used[call[1]] = true
		need = append(need, scopes...)
	}
	for call := range callScopes {
		if !used[call] {
			t.Errorf("the adapter does not call %s any more", call)
		}
	}
	for _, e := range m.Settings.Events.Bot {
		scopes, ok := eventScopes[e]
		if !ok {
			t.Errorf("which scopes does %s need?", e)
		}
		need = append(need, scopes...)
		if name, _, _ := strings.Cut(e, "."); !strings.Contains(code, `"`+name+`"`) {
			t.Errorf("the adapter does not know the event %s", e)
		}
	}
	for e := range eventScopes {
		if !slices.Contains(m.Settings.Events.Bot, e) {
			t.Errorf("the manifest does not subscribe to %s", e)
		}
	}
	if len(m.Features.Commands) > 0 {
		need = append(need, "commands")
	}
	slices.Sort(need)
	need = slices.Compact(need)
	got := slices.Clone(m.OAuth.Scopes["bot"])
	slices.Sort(got)
	if !slices.Equal(got, need) {
		t.Errorf("the manifest asks for\n%v, needed are\n%v", got, need)
	}
	if len(m.OAuth.Scopes) != 1 {
		t.Errorf("scopes for more than the bot: %v", m.OAuth.Scopes)
	}
	if s := loadDefaults(t); len(m.Features.Commands) != 1 || m.Features.Commands[0].Command != s.Slack.Command {
		t.Errorf("the commands are %v, the default setting is %s", m.Features.Commands, s.Slack.Command)
	}
	if !m.Settings.Interactivity.Enabled || !m.Settings.Socket || len(m.Features.Pane) == 0 {
		t.Errorf("buttons, Socket Mode or the assistant pane are off: %+v", m)
	}
}

func loadDefaults(t *testing.T) *config.Settings {
	t.Helper()
	t.Chdir(t.TempDir())
	s, err := config.Load(config.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// adapterCode is the adapter's code without its tests.
func adapterCode(t *testing.T) string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(top, "bot", "slackchat", "*.go"))
	if err != nil || len(files) < 5 {
		t.Fatal(files, err)
	}
	var out strings.Builder
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		raw, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out.Write(raw)
	}
	return out.String()
}
