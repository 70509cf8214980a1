package measure

import (
	"fmt"
	"strconv"
	"time"
)

// Date is a calendar day as the number yyyymmdd, so that dates compare as
// numbers. The zero Date means "no date".
type Date int32

// NewDate makes a date; ok is false for days that do not exist (29 February 2027).
func NewDate(y, m, d int) (Date, bool) {
	if y < 1900 || y > 2200 {
		return 0, false
	}
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Year() != y || int(t.Month()) != m || t.Day() != d {
		return 0, false
	}
	return Date(y*10000 + m*100 + d), true
}

// DateOf is the calendar day of t in t's location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(y*10000 + int(m)*100 + d)
}

// ParseDate reads YYYY-MM-DD, or a year alone as its 1 January.
func ParseDate(s string) (Date, error) {
	if len(s) == 4 {
		if y, err := strconv.Atoi(s); err == nil {
			if d, ok := NewDate(y, 1, 1); ok {
				return d, nil
			}
		}
	}
	if len(s) == 10 && s[4] == '-' && s[7] == '-' {
		y, e1 := strconv.Atoi(s[:4])
		m, e2 := strconv.Atoi(s[5:7])
		d, e3 := strconv.Atoi(s[8:])
		if e1 == nil && e2 == nil && e3 == nil {
			if day, ok := NewDate(y, m, d); ok {
				return day, nil
			}
			return 0, fmt.Errorf("there is no day %s", s)
		}
	}
	return 0, fmt.Errorf("%q is not a date like 2027-04-10", s)
}

// Year, Month and Day are the date's parts.
func (d Date) Year() int  { return int(d) / 10000 }
func (d Date) Month() int { return int(d) / 100 % 100 }
func (d Date) Day() int   { return int(d) % 100 }

// String is YYYY-MM-DD, or "" for no date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	var b [10]byte
	y, m, dd := d.Year(), d.Month(), d.Day()
	b[0], b[1], b[2], b[3] = byte('0'+y/1000%10), byte('0'+y/100%10), byte('0'+y/10%10), byte('0'+y%10)
	b[4], b[7] = '-', '-'
	b[5], b[6] = byte('0'+m/10), byte('0'+m%10)
	b[8], b[9] = byte('0'+dd/10), byte('0'+dd%10)
	return string(b[:])
}

// AddYears moves the date n years; 29 February becomes 1 March where needed.
func (d Date) AddYears(n int) Date {
	return DateOf(time.Date(d.Year()+n, time.Month(d.Month()), d.Day(), 0, 0, 0, 0, time.UTC))
}

// AddDays moves the date n days.
func (d Date) AddDays(n int) Date {
	return DateOf(time.Date(d.Year(), time.Month(d.Month()), d.Day()+n, 0, 0, 0, 0, time.UTC))
}

// AgeOn is the age in whole years, on the day on, of somebody born on d.
func (d Date) AgeOn(on Date) int {
	a := on.Year() - d.Year()
	if int(on)%10000 < int(d)%10000 {
		a--
	}
	return a
}
