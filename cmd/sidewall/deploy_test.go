package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"sidewall/bot/slackchat/fakeslack"
	"sidewall/config"
)

// deployed are the files by which a club runs the program.
var deployed = []string{"config/sidewall.service", "config/Containerfile"}

var (
	settingVar = regexp.MustCompile(`\bSIDEWALL_[A-Z_]+`)
	goImage    = regexp.MustCompile(`golang:([0-9.]+)`)
)

// TestDeployed: the unit and the container set what there is to set, and build and
// start what there is.
func TestDeployed(t *testing.T) {
	vars := []string{"SIDEWALL_CONFIG"}
	for _, k := range config.Keys() {
		vars = append(vars, k.Env)
	}
	for _, name := range deployed {
		raw, err := os.ReadFile(filepath.Join(top, name))
		if err != nil {
			t.Fatal(err)
		}
		found := settingVar.FindAllString(string(raw), -1)
		if len(found) == 0 {
			t.Errorf("%s sets nothing", name)
		}
		for _, v := range found {
			if !slices.Contains(vars, v) {
				t.Errorf("%s sets %s, which is no setting", name, v)
			}
		}
		for _, want := range []string{"GOMEMLIMIT=", "SIGTERM", "serve"} {
			if !strings.Contains(string(raw), want) {
				t.Errorf("%s lacks %s", name, want)
			}
		}
	}
	container, err := os.ReadFile(filepath.Join(top, "config/Containerfile"))
	if err != nil {
		t.Fatal(err)
	}
	mod, err := os.ReadFile(filepath.Join(top, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	m := goImage.FindSubmatch(container)
	if m == nil || !bytes.Contains(mod, append([]byte("\ngo "), m[1]...)) {
		t.Errorf("the container is built with another Go than go.mod's: %s", m)
	}
	if users := regexp.MustCompile(`(?m)^USER (\d+)`).FindSubmatch(container); users == nil || string(users[1]) == "0" {
		t.Error("the container runs as root")
	}
}

// TestUnitIsHardened holds the unit to what keeps a broken program from doing harm.
func TestUnitIsHardened(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(top, "config/sidewall.service"))
	if err != nil {
		t.Fatal(err)
	}
	set := map[string][]string{}
	for line := range strings.Lines(string(raw)) {
		if k, v, ok := strings.Cut(strings.TrimSpace(line), "="); ok && !strings.HasPrefix(k, "#") {
			set[k] = append(set[k], v)
		}
	}
	for k, want := range map[string]string{
		"User": "sidewall", "NoNewPrivileges": "yes", "ProtectSystem": "strict", "ProtectHome": "yes", "PrivateTmp": "yes", "PrivateDevices": "yes",
		"ProtectKernelTunables": "yes", "ProtectKernelModules": "yes", "ProtectKernelLogs": "yes", "ProtectControlGroups": "yes", "ProtectClock": "yes",
		"RestrictNamespaces": "yes", "RestrictSUIDSGID": "yes", "LockPersonality": "yes", "MemoryDenyWriteExecute": "yes", "SystemCallArchitectures": "native",
		"CapabilityBoundingSet": "", "RestrictAddressFamilies": "AF_INET AF_INET6 AF_UNIX", "UMask": "0077",
	} {
		if !slices.Equal(set[k], []string{want}) {
			t.Errorf("%s is %q, want %q", k, set[k], want)
		}
	}
	// A stop has to leave the time that the bot takes to finish what it has in hand.
	stops, err := time.ParseDuration(strings.Join(set["TimeoutStopSec"], ""))
	if err != nil || stops < 35*time.Second {
		t.Errorf("TimeoutStopSec is %v, %v", stops, err)
	}
}

// TestVersion: the linker may say the revision, where the build knows no history.
func TestVersion(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	program := filepath.Join(t.TempDir(), "sidewall")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-ldflags", "-X main.revision=0123456789abcdef0123", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	out, err := exec.Command(program, "version").CombinedOutput()
	if err != nil {
		t.Fatal(err)
	}
	if want := "sidewall devel 0123456789ab (" + runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH + ")\n"; string(out) != want {
		t.Errorf("it says %q, want %q", out, want)
	}
}

// TestServeUnderTheUnitsLimits runs the program with the memory that the unit gives it.
func TestServeUnderTheUnitsLimits(t *testing.T) {
	if testing.Short() || raceEnabled {
		t.Skip("starts a process whose memory counts")
	}
	raw, err := os.ReadFile(filepath.Join(top, "config/sidewall.service"))
	if err != nil {
		t.Fatal(err)
	}
	limit := regexp.MustCompile(`(?m)^Environment=(GOMEMLIMIT=.*)$`).FindSubmatch(raw)
	if limit == nil {
		t.Fatal("the unit sets no memory limit")
	}
	s := serveFake(t, fakeslack.Options{})
	s.AddChannel("D1", fakeslack.IM, "U1")
	p := startServe(t, s, t.TempDir(), &safeBuffer{}, string(limit[1]), "SIDEWALL_METRICS_LISTEN=127.0.0.1:0")
	waitFor(t, s, 20*time.Second, "both connections", func() bool { return s.Connections() == 2 })
	ts := s.Post("D1", "U1", "can U11s body check?", fakeslack.PostOptions{})
	waitFor(t, s, 20*time.Second, "an answer", func() bool { return len(s.Replies("D1", ts)) == 1 })
	if n := p.numbers(t); n["go_memlimit_bytes"] != 160<<20 || n["process_resident_memory_bytes"] > 160<<20 {
		t.Errorf("the limit is %v, and %v bytes are resident", n["go_memlimit_bytes"], n["process_resident_memory_bytes"])
	}
	p.end(t)
}
