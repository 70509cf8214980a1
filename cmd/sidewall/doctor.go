package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sidewall/answers"
	"sidewall/answers/measure"
	"sidewall/bot"
	"sidewall/config"
)

// grade is how bad a finding is.
type grade int

const (
	fine grade = iota
	warning
	bad
)

func (g grade) String() string { return [...]string{"ok", "warning", "FAILED"}[g] }

// finding is what the doctor says of one thing. Where it is not fine, it says what
// to do about it.
type finding struct {
	grade grade
	what  string
	says  string
	todo  string
}

// examination looks at one thing. What it looks at it leaves as it is.
type examination func(ctx context.Context, s *config.Settings) []finding

// examinations are all that the doctor looks at, in the order in which serve needs it.
func examinations() []examination {
	return []examination{examineBook, examineState, examineChats, examineMetrics}
}

// examined is how long one thing may take; a server that says nothing is away.
const examined = 15 * time.Second

func doctorCommand(a *app) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "doctor",
		Short: "Check everything that serve needs, and say what to do about what is wrong",
		Long: "Doctor checks the settings, the book, the state file, and whether Slack and Matrix can be reached with these tokens.\n" +
			"Of each thing that is wrong it says what to do. It posts nothing and changes nothing; serve may be running.\n" +
			"Exit code 0: serve can run; 1: something has to be put right first. Warnings do not count.",
		Example: "  sidewall doctor\n  sidewall doctor --config /etc/sidewall/sidewall.yaml",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			s, err := config.Load(config.Options{File: a.configFile, Flags: cmd.Flags(), Secrets: true})
			first := finding{what: "settings", says: "from the environment and the flags alone"}
			switch {
			case err != nil:
				first.grade, first.says = bad, err.Error()
				first.todo = "Put the named keys right; `sidewall help settings` lists every one. The rest is checked once they are."
			case s.File != "":
				first.says = s.File
			}
			found := []finding{first}
			if err == nil {
				for _, examine := range examinations() {
					ctx, cancel := context.WithTimeout(cmd.Context(), examined)
					found = append(found, examine(ctx, s)...)
					cancel()
				}
			}
			if err := cmd.Context().Err(); err != nil {
				return err
			}
			return tell(cmd.OutOrStdout(), found)
		},
	}
	cmd.Flags().String("state-path", "", "the file in which the bot remembers")
	cmd.Flags().String("date", "", "the day the rules must hold on, as 2027-04-10 (default today)")
	return cmd
}

// tell prints the findings; the error counts those that are bad.
func tell(w io.Writer, found []finding) error {
	wrong := 0
	const indent = "                   "
	for _, f := range found {
		lines := strings.Split(strings.TrimSpace(f.says), "\n")
		if f.todo != "" {
			lines = append(lines, "→ "+f.todo)
		}
		if _, err := fmt.Fprintf(w, "%-8s %-9s %s\n", f.grade, f.what, strings.Join(lines, "\n"+indent)); err != nil {
			return err
		}
		if f.grade == bad {
			wrong++
		}
	}
	if wrong > 0 {
		return failure{fmt.Errorf("%s to put right", countOf(wrong, "thing"))}
	}
	return nil
}

func examineBook(ctx context.Context, s *config.Settings) []finding {
	f := finding{what: "book"}
	b, err := loadBook(ctx, s.Book)
	var d *answers.Desk
	if err == nil {
		d, err = answers.New(b)
	}
	if err != nil {
		f.grade, f.says = bad, err.Error()
		f.todo = "Each line says the file, where in it, and what to write instead; `sidewall book lint` finds more once it loads."
		if s.Book != "" {
			if _, statErr := os.Stat(s.Book); statErr != nil {
				f.todo = "Set book to the folder that holds book.yaml, or leave it out for the book in the program."
			}
		}
		return []finding{f}
	}
	name := s.Book
	if name == "" {
		name = "the one in the program"
	}
	f.says = fmt.Sprintf("%s, revision %s: %s, %s", name, b.Revision, countOf(len(b.Divisions), "division"), countOf(len(b.Summaries), "summary page"))
	out := []finding{f}
	if s.Book == "" {
		out = append(out, finding{grade: warning, what: "book", says: "the book in the program is that of an invented club",
			todo: "Start your own with `sidewall book new our-book`, and set book."})
	}
	if on, err := dayOf(s); err == nil && b.Season.To != 0 && on > b.Season.To {
		out = append(out, finding{grade: warning, what: "book", says: fmt.Sprintf("its season %s ended on %s", b.Season.Name, b.Season.To),
			todo: "Put the new season's dates into book.yaml, and look through what changed."})
	}
	if _, _, err := bindings(d, s); err != nil {
		out = append(out, finding{grade: bad, what: "channels", says: err.Error(), todo: "Put the entry right in channels; divisions are called as in the book."})
	}
	return out
}

// dayOf is the day of the settings, else today.
func dayOf(s *config.Settings) (measure.Date, error) {
	if s.Date != "" {
		return measure.ParseDate(s.Date)
	}
	return measure.ParseDate(time.Now().In(s.Timezone).Format(time.DateOnly))
}

func examineState(ctx context.Context, s *config.Settings) []finding {
	path := s.State.Path
	f := finding{what: "state"}
	wrong := func(err error, todo string) []finding {
		f.grade, f.says, f.todo = bad, fmt.Sprintf("%s: %v", path, err), todo
		return []finding{f}
	}
	if todo, err := stateFolder(path); err != nil {
		return wrong(err, todo)
	}
	served := stateServed(ctx, path)
	switch err := bot.CheckSQLite(ctx, path); {
	case errors.Is(err, fs.ErrNotExist):
		f.says = path + " is made when serve starts"
	case errors.Is(err, bot.ErrBroken):
		f.grade, f.says = warning, fmt.Sprintf("%s: %v", path, err)
		f.todo = "The next start keeps it aside under another name and begins a new one; put a backup in its place first if you have one."
	case err != nil:
		return wrong(err, "Let the account that runs sidewall read and write "+path+"; or set state.path.")
	default:
		f.says = path
		if served {
			f.says += "; a sidewall serve uses it now"
		}
	}
	out := []finding{f}
	if aside, err := filepath.Glob(path + ".broken-*"); err == nil && len(aside) > 0 {
		out = append(out, finding{grade: warning, what: "state", says: "an earlier state file was broken and is kept aside: " + strings.Join(aside, ", "),
			todo: "Check the disk. The files may go when nobody wants to look into them."})
	}
	return out
}

// stateFolder says why nothing can be written beside a state file, and what to do
// about it; nil where it can.
func stateFolder(path string) (todo string, err error) {
	dir := filepath.Dir(path)
	err = writable(dir)
	if err == nil {
		return "", nil
	}
	var in *fs.PathError
	if errors.As(err, &in) { // the name of the file that was tried says nothing
		err = in.Err
	}
	err = fmt.Errorf("the folder %s cannot be written: %w", dir, err)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "Make the folder " + dir + ", owned by the account that runs sidewall; or set state.path.", err
	case diskFull(err):
		return "Make room on the disk that holds " + dir + "; nothing is lost meanwhile, but nothing is answered either.", err
	}
	return "Let the account that runs sidewall write in the folder " + dir + " (the state has files beside it); or set state.path.", err
}

// writable tries to write in a folder, and takes away what it wrote.
func writable(dir string) (err error) {
	f, err := os.CreateTemp(dir, ".sidewall-doctor-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close(), os.Remove(f.Name())) }()
	if _, err := f.Write(make([]byte, 64<<10)); err != nil { // as much as the state needs to go on
		return err
	}
	return f.Sync()
}

// stateServed says whether a process serves from a state file. The lock is not
// made where there is none: it would belong to whoever runs the doctor.
func stateServed(ctx context.Context, path string) bool {
	if _, err := os.Stat(lockFile(path)); err != nil {
		return false
	}
	release, err := holdState(ctx, path)
	if err == nil {
		release()
	}
	return errors.Is(err, errServed)
}

func examineChats(ctx context.Context, s *config.Settings) []finding {
	wanted, err := chosen(s)
	if err != nil {
		head, _, _ := strings.Cut(err.Error(), "\nREADME")
		return []finding{{grade: bad, what: "chats", says: head, todo: "README says step by step where the tokens come from."}}
	}
	var out []finding
	for _, p := range wanted {
		out = append(out, p.examine(ctx, s)...)
	}
	return out
}

func examineMetrics(ctx context.Context, s *config.Settings) []finding {
	if s.Metrics.Listen == "" {
		return []finding{{what: "metrics", says: "not served; metrics.listen turns them on"}}
	}
	return []finding{examineListen(ctx, s, "metrics", "metrics.listen", s.Metrics.Listen)}
}

// examineListen tries to listen where serve wants to.
func examineListen(ctx context.Context, s *config.Settings, what, key, addr string) finding {
	ln, err := (&net.ListenConfig{}).Listen(ctx, "tcp", addr)
	if err == nil {
		_ = ln.Close() // nobody came
		return finding{what: what, says: key + " " + addr + " is free"}
	}
	if stateServed(ctx, s.State.Path) {
		return finding{what: what, says: key + " " + addr + " is in use, by the sidewall serve that runs"}
	}
	return finding{grade: bad, what: what, says: fmt.Sprintf("%s: %v", key, err), todo: "Choose another port in " + key + ", or end what uses this one."}
}

// unreached is what to do where a server does not answer.
func unreached(server string) string {
	return "This machine does not reach " + server + ". Check its network, its name service, and a proxy if it needs one (HTTPS_PROXY)."
}
