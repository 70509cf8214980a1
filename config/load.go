package config

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"
	"github.com/spf13/viper"
)

// DefaultFile is the settings file that is read where none is named, if it is there.
const DefaultFile = "sidewall.yaml"

const envPrefix = "SIDEWALL_"

// envFile is the one variable that is no key: it names the settings file.
const envFile = envPrefix + "CONFIG"

// Problem is one thing that is wrong with the settings.
type Problem struct {
	Key   string // such as slack.mode
	Where string // the file, variable or flag that sets it
	What  string
}

func (p *Problem) Error() string { return p.Where + ": " + p.Key + ": " + p.What }

// Options is where the settings come from.
type Options struct {
	File    string         // "": SIDEWALL_CONFIG, else DefaultFile where it exists
	Flags   *pflag.FlagSet // those named like a key count, where they were given
	Secrets bool           // read the secrets that stand in files; only what serves needs them
}

// Load reads the settings: flags go before the environment, that before the
// file. The error tells everything that is wrong.
func Load(o Options) (*Settings, error) {
	l := &loader{v: viper.New(), o: o, s: defaults()}
	if err := l.readFile(); err != nil {
		return nil, err
	}
	for _, k := range keys {
		if err := l.v.BindEnv(k.name, envName(k.name)); err != nil {
			return nil, fmt.Errorf("binding %s: %w", envName(k.name), err)
		}
		if f := l.flag(k.name); f != nil {
			if err := l.v.BindPFlag(k.name, f); err != nil {
				return nil, fmt.Errorf("binding --%s: %w", f.Name, err)
			}
		}
	}
	l.unknown()
	for i := range keys {
		l.set(&keys[i])
	}
	l.together()
	if len(l.errs) > 0 {
		return nil, errors.Join(l.errs...)
	}
	return l.s, nil
}

type loader struct {
	v    *viper.Viper
	o    Options
	s    *Settings
	file string // absolute; "" where none was read
	errs []error
}

func envName(key string) string {
	return envPrefix + strings.ToUpper(strings.ReplaceAll(key, ".", "_"))
}

func flagName(key string) string { return strings.NewReplacer(".", "-", "_", "-").Replace(key) }

// flag is the flag of a key where the command has one.
func (l *loader) flag(key string) *pflag.Flag {
	if l.o.Flags == nil {
		return nil
	}
	return l.o.Flags.Lookup(flagName(key))
}

func (l *loader) readFile() error {
	name := l.o.File
	if name == "" {
		name = os.Getenv(envFile)
	}
	if name == "" {
		if _, err := os.Stat(DefaultFile); errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		name = DefaultFile
	}
	abs, err := filepath.Abs(name)
	if err != nil {
		return fmt.Errorf("reading the settings: %w", err)
	}
	l.v.SetConfigFile(abs)
	l.v.SetConfigType("yaml")
	if err := l.v.ReadInConfig(); err != nil {
		var parse viper.ConfigParseError
		if errors.As(err, &parse) {
			return fmt.Errorf("%s: %w", name, parse.Unwrap())
		}
		return fmt.Errorf("reading the settings: %w", err)
	}
	l.file, l.s.File = abs, name
	return nil
}

// where says what sets a key, and whether that is the file.
func (l *loader) where(key string) (name string, inFile bool) {
	if f := l.flag(key); f != nil && f.Changed {
		return "--" + f.Name, false
	}
	if env := envName(key); os.Getenv(env) != "" {
		return env, false
	}
	return l.s.File, true
}

func (l *loader) bad(key, what string, args ...any) {
	w, inFile := l.where(key)
	if w == "" || inFile {
		w = l.s.File
	}
	if w == "" {
		w = "settings"
	}
	l.errs = append(l.errs, &Problem{Key: key, Where: w, What: fmt.Sprintf(what, args...)})
}

// unknown tells the keys and variables that there are not.
func (l *loader) unknown() {
	known := l.v.AllKeys()
	slices.Sort(known)
	for _, k := range known {
		if l.v.Get(k) == nil || find(k) != nil {
			continue
		}
		l.errs = append(l.errs, &Problem{Key: k, Where: l.s.File, What: "there is no such setting; " + hint(k)})
	}
	var vars []string
	for _, kv := range os.Environ() {
		if name, value, _ := strings.Cut(kv, "="); strings.HasPrefix(name, envPrefix) && name != envFile && value != "" {
			vars = append(vars, name)
		}
	}
	slices.Sort(vars)
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = envName(k.name)
	}
	for _, name := range vars {
		if slices.Contains(names, name) {
			continue
		}
		what := "there is no such setting"
		if n := nearest(name, append(names, envFile)); n != "" {
			what += "; did you mean " + n + "?"
		}
		l.errs = append(l.errs, &Problem{Key: strings.ToLower(strings.TrimPrefix(name, envPrefix)), Where: name, What: what})
	}
}

// hint says what an unknown key was probably meant to be.
func hint(key string) string {
	if slices.ContainsFunc(keys, func(k setting) bool { return strings.HasPrefix(k.name, key+".") }) {
		return key + " holds further keys, such as " + first(key+".")
	}
	var names []string
	for _, k := range keys {
		names = append(names, k.name)
	}
	if n := nearest(key, names); n != "" {
		return "did you mean " + n + "?"
	}
	return "`sidewall help settings` lists them all"
}

func first(prefix string) string {
	for _, k := range keys {
		if strings.HasPrefix(k.name, prefix) {
			return k.name
		}
	}
	return ""
}

func find(name string) *setting {
	for i := range keys {
		if keys[i].name == name {
			return &keys[i]
		}
	}
	return nil
}

// set gives one key's value to the settings.
func (l *loader) set(k *setting) {
	v := l.v.Get(k.name)
	if v == nil || v == "" {
		return
	}
	if f := l.flag(k.name); f != nil && !f.Changed && !l.v.InConfig(k.name) && os.Getenv(envName(k.name)) == "" {
		return // the flag's own default
	}
	if err := k.set(l, k.name, v); err != nil {
		l.bad(k.name, "%v", err)
	}
}

// path makes a path of the file relative to the file, so that the service and
// the person who edits it mean the same place.
func (l *loader) path(key, p string) string {
	if _, inFile := l.where(key); inFile && l.file != "" && !filepath.IsAbs(p) {
		return filepath.Join(filepath.Dir(l.file), p)
	}
	return p
}

// together checks what several keys say together.
func (l *loader) together() {
	for _, k := range keys {
		if k.secret && l.isSet(k.name) && l.isSet(k.name+"_file") {
			l.bad(k.name, "%s_file is set too; keep one of them", k.name)
		}
	}
	if !l.s.Matrix.Password.Empty() && !l.s.Matrix.AccessToken.Empty() {
		l.bad("matrix.password", "matrix.access_token is set too; keep one of them")
	}
}

func (l *loader) isSet(key string) bool {
	v := l.v.Get(key)
	return v != nil && v != ""
}
