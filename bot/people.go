package bot

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"
)

// people turns a person's id into what the store may hold: a hash with a salt
// that is made once for each state file and never leaves it.
type people struct{ salt []byte }

const saltName = "salt"

func loadPeople(ctx context.Context, s Store) (people, error) {
	salt, err := s.Value(ctx, saltName)
	if err != nil {
		return people{}, fmt.Errorf("read the salt: %w", err)
	}
	if len(salt) == 0 {
		salt = make([]byte, 32)
		rand.Read(salt) // it never fails
		if err := s.SetValue(ctx, saltName, salt); err != nil {
			return people{}, fmt.Errorf("keep the salt: %w", err)
		}
	}
	return people{salt}, nil
}

// hash of a person's id, as the platform gives it; "" for nobody.
func (p people) hash(person string) string {
	if person == "" {
		return ""
	}
	h := hmac.New(sha256.New, p.salt)
	h.Write([]byte(person)) // it never fails
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// Forget deletes what a store holds of a person, named as the platform names
// them, and says how much it was. The bot need not run.
func Forget(ctx context.Context, s Store, person string) (int, error) {
	p, err := loadPeople(ctx, s)
	if err != nil {
		return 0, err
	}
	n, err := forgetAdmin(ctx, s, p, person, nil)
	if err != nil {
		return n, err
	}
	more, err := s.Forget(ctx, p.hash(person))
	return n + more, err
}

// Forget deletes what is there of a person.
func (b *Bot) Forget(ctx context.Context, person string) (int, error) {
	b.naming.Lock()
	defer b.naming.Unlock()
	n, err := forgetAdmin(ctx, b.store, b.people, person, b.editing)
	if err == nil {
		err = b.loadAdmins(ctx)
	}
	if err != nil {
		return n, err
	}
	more, err := b.store.Forget(ctx, b.people.hash(person))
	return n + more, err
}

// OpenQuestions are the questions since a time that the book did not answer.
func (b *Bot) OpenQuestions(ctx context.Context, since time.Time) ([]Missed, error) {
	return b.store.Missed(ctx, since)
}

// isAdmin says whether the settings name a person, by id alone or with the
// platform before it ("slack:U0123"), or an admin did.
func (b *Bot) isAdmin(e *Event) bool {
	return b.isSet(e.Platform, e.Person) || b.isNamed(e.Person)
}
