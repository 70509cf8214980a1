package book_test

import (
	"io/fs"
	"testing"

	"sidewall/answers/book"
	"sidewall/config"
)

func TestShippedBookLoads(t *testing.T) {
	b, err := book.Load(t.Context(), config.ShippedBook())
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Summaries) < 45 {
		t.Errorf("%d summaries, want at least 45", len(b.Summaries))
	}
	if len(b.Revision) != 12 {
		t.Errorf("revision %q", b.Revision)
	}
}

func BenchmarkLoad(b *testing.B) {
	fsys := config.ShippedBook()
	b.ReportAllocs()
	var got *book.Book
	for b.Loop() {
		var err error
		if got, err = book.Load(b.Context(), fsys); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(got.Sheet.All())), "records")
	b.ReportMetric(float64(len(got.Summaries)), "summaries")
}

func TestShippedBookAgreesWithItsSchemas(t *testing.T) {
	schemas, err := fs.Sub(config.ShippedBook(), "schema")
	if err != nil {
		t.Fatal(err)
	}
	if errs := book.CheckSchemas(config.ShippedBook(), schemas); len(errs) > 0 {
		t.Error(errs)
	}
}
