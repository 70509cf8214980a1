//go:build race

package answers_test

const raceOn = true
