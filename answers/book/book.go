// Package book loads a club's book from an fs.FS: divisions, sources, sheet
// values and the text of its summaries. It knows neither bleve nor chat.
package book

import (
	"sidewall/answers/measure"
	"sidewall/answers/sheet"
)

// Book is everything that a club owns: its names, its values, its words.
type Book struct {
	Club      string
	Contact   Contact
	Season    Season
	Divisions []Division // youngest first; the index is the bit in sheet.Mask
	MaxAge    int        // in years; the book is for school ages up to it
	Cutoff    Cutoff
	Sheet     *sheet.Sheet
	Sources   map[string]*sheet.Source
	Summaries []*Summary // by id
	Files     []string   // every file that was read, sorted
	Revision  string     // short hash over the content of the book's files
}

// Contact is whom to ask where the book says nothing.
type Contact struct {
	Name    sheet.Text2
	Address string
}

// Season is the span of days the club calls by one name.
type Season struct {
	Name     string
	From, To measure.Date
}

// Division is an age division.
type Division struct {
	ID      string
	Under   int      // U11: 11; 0 for a division that takes everyone older (high school)
	Aliases []string // as the book spells them; patterns like "under 11" need no alias
	Band    int      // the naming that counts the oldest age allowed: 10 for U11 (10U); 0 where none
	Grades  []int    // the school grades that may play in it, kindergarten is 0
	// UsualGrades are the grades that mostly play in it; empty where the book
	// does not say.
	UsualGrades []int
	File        string
	Line        int
}

// Cutoff is the day on which ages are counted, in the year before
// the spring of the season (31 August).
type Cutoff struct{ Month, Day int }

// Summary is one page of the club's own words.
type Summary struct {
	ID        string
	Title     string
	Divisions []string // empty: every division
	Topics    []string
	From      measure.Date
	Owner     string
	Reviewed  measure.Date
	Sources   []string
	Questions []string // what people ask that this page answers
	Sections  []Section
	File      string
	Body      string // the Markdown after the front matter
	BodyLine  int    // the line of the file on which Body starts
	Line      int    // the line of its id
}

// Section is a part of a summary under one heading.
type Section struct {
	Heading string
	Text    string // Markdown
	Line    int    // of the heading; of the text where it has none
}
