package bot

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Admins are named by the settings, or by another admin. Those are kept as people
// are, hashed: who they are nobody can read there, and nobody has to.

const namedAdminsName = "admins"

// loadAdmins reads who was named.
func (b *Bot) loadAdmins(ctx context.Context) error {
	raw, err := b.store.Value(ctx, namedAdminsName)
	if err != nil {
		return fmt.Errorf("read the admins: %w", err)
	}
	var hashes []string
	if len(raw) > 0 {
		if err := json.Unmarshal(raw, &hashes); err != nil {
			return fmt.Errorf("read the admins: %w", err)
		}
	}
	b.named.Store(&hashes)
	return nil
}

// keepAdmins changes who was named.
func keepAdmins(ctx context.Context, s Store, change func([]string) []string) ([]string, error) {
	raw, err := s.Value(ctx, namedAdminsName)
	if err != nil {
		return nil, fmt.Errorf("read the admins: %w", err)
	}
	var hashes []string
	if len(raw) > 0 {
		if err := json.Unmarshal(raw, &hashes); err != nil {
			return nil, fmt.Errorf("read the admins: %w", err)
		}
	}
	before := len(hashes)
	hashes = change(hashes)
	if len(hashes) == before {
		return hashes, nil
	}
	if raw, err = json.Marshal(hashes); err == nil {
		err = s.SetValue(ctx, namedAdminsName, raw)
	}
	if err != nil {
		return nil, fmt.Errorf("keep the admins: %w", err)
	}
	return hashes, nil
}

// adminHash is an admin in the store.
func (p people) adminHash(person string) string { return p.hash("admin/" + person) }

// isNamed says whether an admin named somebody.
func (b *Bot) isNamed(person string) bool {
	named := b.named.Load()
	return named != nil && person != "" && slices.Contains(*named, b.people.adminHash(person))
}

func (b *Bot) isSet(platform, person string) bool {
	if b.o.Admins == nil || person == "" {
		return false
	}
	admins := b.o.Admins()
	return slices.Contains(admins, person) || slices.Contains(admins, platform+":"+person)
}

// nameAdmin names an admin, drops one, or says how many there are.
func (b *Bot) nameAdmin(ctx context.Context, j *job, lang string) (*Told, error) {
	w := editWordsOf(lang)
	e := j.wish.edit
	if e.kind == editAdmins {
		set := 0
		if b.o.Admins != nil {
			set = len(b.o.Admins())
		}
		t := told(lang, w.adminsAre, set)
		if named := b.named.Load(); named != nil {
			t.line(w.adminsMore, len(*named))
		}
		return t, nil
	}
	person := strings.Trim(e.name, "<>")
	if strings.Contains(person, Somebody) {
		person = ""
		if len(j.ev.People) == 1 {
			person = j.ev.People[0]
		}
	}
	person = strings.TrimPrefix(person, j.ev.Platform+":")
	if person == "" || strings.HasPrefix(person, "#") {
		return told(lang, w.adminWho), nil
	}
	hash := b.people.adminHash(person)
	b.naming.Lock()
	defer b.naming.Unlock()
	if e.kind == editAddAdmin {
		hashes, err := keepAdmins(ctx, b.store, func(in []string) []string { return addOnce(in, hash) })
		if err != nil {
			return nil, err
		}
		b.named.Store(&hashes)
		b.log.Info("an admin was named", "who", b.people.hash(person), "by", j.person)
		return told(lang, w.adminNamed), nil
	}
	switch {
	case b.isSet(j.ev.Platform, person):
		return told(lang, w.adminSet), nil
	case !b.isNamed(person):
		return told(lang, w.adminUnknown), nil
	}
	hashes, err := keepAdmins(ctx, b.store, func(in []string) []string { return slices.DeleteFunc(in, func(h string) bool { return h == hash }) })
	if err != nil {
		return nil, err
	}
	b.named.Store(&hashes)
	b.log.Info("an admin was dropped", "who", b.people.hash(person), "by", j.person)
	if b.editing != nil {
		if err := b.editing.dropOf(ctx, func(who string) bool { return who == j.ev.Platform+":"+person }); err != nil {
			return nil, err
		}
	}
	return told(lang, w.adminGone), nil
}

// namesSomebody says whether a text names an admin: only then does the bot need
// to know who is mentioned in it.
func namesSomebody(text string) bool {
	for i := range editPhrases {
		if p := &editPhrases[i]; (p.kind == editAddAdmin || p.kind == editDropAdmin) && p.re().MatchString(strings.TrimSpace(written(text))) {
			return true
		}
	}
	return false
}

// forgetAdmin drops what is kept of somebody as an admin, and says how much it was.
func forgetAdmin(ctx context.Context, s Store, p people, person string, e *Editing) (int, error) {
	if person == "" {
		return 0, nil
	}
	n := 0
	count := func(gone bool) bool {
		if gone {
			n++
		}
		return gone
	}
	hash := p.adminHash(person)
	if _, err := keepAdmins(ctx, s, func(in []string) []string {
		return slices.DeleteFunc(in, func(h string) bool { return count(h == hash) })
	}); err != nil {
		return n, err
	}
	if e == nil {
		e = NewEditing(EditOptions{Values: s})
	}
	err := e.dropOf(ctx, func(who string) bool {
		_, id, _ := strings.Cut(who, ":")
		return count(id == person)
	})
	return n, err
}
