package answers_test

import (
	"context"
	"testing"

	"sidewall/answers"
	"sidewall/answers/book"
	"sidewall/config"
)

// BenchmarkStart is what `sidewall ask` does before it reads the question.
func BenchmarkStart(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		bk, err := book.Load(context.Background(), config.ShippedBook())
		if err != nil {
			b.Fatal(err)
		}
		if _, err := answers.New(bk); err != nil {
			b.Fatal(err)
		}
	}
}
