package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path"
	"strings"
	"time"

	"sidewall/answers/book"
)

// gitTime is how long a commit may take: a hook or a lock must not hold the
// admins up.
const gitTime = 30 * time.Second

// gitCommit commits a publication's files, and nothing else that lies in the
// folder, through the git program.
func gitCommit(dir string) func(context.Context, *book.Record) error {
	return func(ctx context.Context, r *book.Record) error {
		ctx, cancel := context.WithTimeout(ctx, gitTime)
		defer cancel()
		if out, err := git(ctx, dir, "rev-parse", "--is-inside-work-tree"); err != nil || out != "true" {
			return fmt.Errorf("it is not committed: %s is not kept in git, and book_commit says that it is", dir)
		}
		files := []string{path.Join("history", fmt.Sprintf("%04d.json", r.Number))}
		for _, f := range r.Files {
			files = append(files, f.File)
		}
		if _, err := git(ctx, dir, append([]string{"add", "--all", "--"}, files...)...); err != nil {
			return fmt.Errorf("it is not committed: %w", err)
		}
		args := []string{"commit", "--quiet", "--message", fmt.Sprintf("%s\n\nRevision %d of the book, by %s.", r.Why, r.Number, r.By)}
		if _, err := git(ctx, dir, "config", "user.email"); err != nil {
			args = append([]string{"-c", "user.name=Sidewall", "-c", "user.email=sidewall@localhost"}, args...)
		}
		if _, err := git(ctx, dir, append(append(args, "--"), files...)...); err != nil {
			return fmt.Errorf("it is not committed: %w", err)
		}
		return nil
	}
}

// git runs the program in a folder and gives what it wrote.
func git(ctx context.Context, dir string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, "git", append([]string{"-C", dir}, args...)...)
	// It asks nobody, and takes the names of files as they are.
	cmd.Env = append(os.Environ(), "GIT_TERMINAL_PROMPT=0", "GIT_LITERAL_PATHSPECS=1")
	cmd.WaitDelay = time.Second
	out, err := cmd.Output()
	if err != nil {
		what := err.Error()
		var exit *exec.ExitError
		if errors.As(err, &exit) && len(exit.Stderr) > 0 {
			what = strings.TrimSpace(string(exit.Stderr))
		}
		return "", fmt.Errorf("git %s: %s", args[0], what)
	}
	return strings.TrimSpace(string(out)), nil
}
