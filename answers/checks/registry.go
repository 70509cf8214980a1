package checks

import (
	"slices"

	"sidewall/answers/question"
)

// Check is one topic: what it is called, how it is asked, which facts it can
// use, which sheet keys it reads, and how it decides. Help, lint and the
// question corpora are made from this, so that none of them goes stale.
type Check struct {
	Topic      string
	Help       string          // what it answers, in one line
	HelpES     string          // the same in Spanish
	Examples   []string        // questions that it answers, English
	ExamplesES []string        // and Spanish
	Wants      []question.Want // the facts that it can use
	Keys       []string        // sheet keys it reads, "topic/key"; "topic/*" is every key of a topic
	ByDivision bool            // its values may differ by division
	ByPosition bool            // and by position
	AskSplit   bool            // where only the goalkeeper differs, ask for the position instead of saying both
	Safety     bool            // every answer carries the safety caution
	PageBy     string          // the word fact that chooses the summary to read more in ("item"); "" chooses by topic
	Counts     string          // the number that "another one went in" changes in a thread
	Spoken     bool            // a verdict needs an act that was named: any division has a rule on body checks
	Adds       string          // the time that "another one-minute" adds to
	Bare       string          // the fact that a bare number is in a talk that holds none: "19?"
	Stated     string          // the number that "so it's 9 now" tells beside Counts
	Undoes     [2]string       // a concept that takes back a word which a talk has told: both hands, one-handed
	Changes    string          // the length that "cuts two inches off" changes
	Either     [][]string      // facts that say the same thing in other ways: a new one drops the old ones
	Decide     func(c *Case)
}

// Drops says whether an older fact of the thread has to go, because the new
// facts say the same thing in another way.
func (k *Check) Drops(fresh question.Facts, name string) bool {
	for _, group := range k.Either {
		if !slices.Contains(group, name) {
			continue
		}
		for _, other := range group {
			if _, ok := fresh.Get(other); ok {
				return true
			}
		}
	}
	return false
}

// All is every check, in the order in which help lists them.
func All() []*Check {
	return []*Check{
		crosseLength(), crosseChoice(), longCrosseCount(), crosseHead(), pocket(), stringing(), crosseEnd(),
		mouthguard(), helmet(), gloves(), gearList(), gearItem(), ball(), division(),
		bodyCheck(), contactDistance(), restartDistance(), stickCheck(), foul(), playersAllowed(), foulLimit(),
		onsideCount(), gameFormat(), count(), clockMode(), lightning(), heat(), concussion(),
		releaseTime(),
	}
}
