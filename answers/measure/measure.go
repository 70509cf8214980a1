// Package measure holds exact integer quantities: lengths, weights, times,
// temperatures and dates, their conversion and their formatting.
//
// Floats appear only at the edge, where a number is written for a reader or
// for JSON. Unit factors are exact by definition (NIST SP 811).
package measure

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Length is a length in nanometres. A 64th of an inch is a whole number of it.
type Length int64

// Exact factors, NIST SP 811: 1 in = 2.54 cm, 1 ft = 12 in, 1 yd = 3 ft.
const (
	Millimetre Length = 1_000_000
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Inch       Length = 25_400_000
	Foot              = 12 * Inch
	Yard              = 3 * Foot
)

// Inches is the length in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Yards is the length in yards.
func (l Length) Yards() float64 { return float64(l) / float64(Yard) }

// Feet is the length in feet.
func (l Length) Feet() float64 { return float64(l) / float64(Foot) }

// Diameter is the diameter of a ball with circumference l, rounded to a nanometre.
func (l Length) Diameter() Length { return Length(math.Round(float64(l) / math.Pi)) }

// Mass is a weight in nanograms.
type Mass int64

// Exact factor, NIST SP 811: 1 oz (avoirdupois) = 28.349523125 g.
const (
	Gram  Mass = 1_000_000_000
	Ounce Mass = 28_349_523_125
	Pound      = 16 * Ounce
)

// Ounces is the weight in ounces.
func (m Mass) Ounces() float64 { return float64(m) / float64(Ounce) }

// Time spans are milliseconds, so that "4.5 seconds" is exact.
type Span int64

// Units of a span.
const (
	Second Span = 1000
	Minute      = 60 * Second
	Hour        = 60 * Minute
)

// Seconds is the span in seconds.
func (s Span) Seconds() float64 { return float64(s) / float64(Second) }

// Temp is a temperature in thousandths of a degree Fahrenheit.
type Temp int64

// DegreeF is one degree Fahrenheit.
const DegreeF Temp = 1000

// Fahrenheit is the temperature in °F.
func (t Temp) Fahrenheit() float64 { return float64(t) / float64(DegreeF) }

// Celsius makes a Temp of thousandths of a degree Celsius (°F = °C × 9/5 + 32, exact).
func Celsius(milli int64) Temp { return Temp(roundDiv(milli*9, 5) + 32*int64(DegreeF)) }

func roundDiv(a, b int64) int64 {
	if a < 0 {
		return -((-a + b/2) / b)
	}
	return (a + b/2) / b
}

// Unit says what the int64 of a Quantity counts.
type Unit uint8

// The units in which quantities are kept.
const (
	Count   Unit = iota // thousandths, so that 1.5 steps is exact
	Long                // Length, nanometres
	Weight              // Mass, nanograms
	Lasting             // Span, milliseconds
	Warmth              // Temp, thousandths of °F
	Percent             // thousandths of a percent
	Day                 // Date
)

// One is the number 1 as a Count.
const One int64 = 1000

var unitNames = map[string]struct {
	u Unit
	f int64
}{
	"": {Count, One}, "count": {Count, One},
	"in": {Long, int64(Inch)}, "ft": {Long, int64(Foot)}, "yd": {Long, int64(Yard)},
	"mm": {Long, int64(Millimetre)}, "cm": {Long, int64(Centimetre)}, "m": {Long, int64(Metre)},
	"oz": {Weight, int64(Ounce)}, "g": {Weight, int64(Gram)}, "lb": {Weight, int64(Pound)},
	"s": {Lasting, int64(Second)}, "min": {Lasting, int64(Minute)},
	"degF": {Warmth, int64(DegreeF)}, "percent": {Percent, 1000},
	"years": {Count, One}, "goals": {Count, One}, "players": {Count, One}, "fouls": {Count, One},
}

// ParseUnit finds a unit by the name that a sheet uses ("in", "yd", "s", …):
// what it counts and how many base units one of it is.
func ParseUnit(name string) (u Unit, factor int64, ok bool) {
	e, ok := unitNames[name]
	return e.u, e.f, ok
}

// UnitNames are the names that ParseUnit knows.
func UnitNames() []string {
	out := make([]string, 0, len(unitNames))
	for n := range unitNames {
		if n != "" {
			out = append(out, n)
		}
	}
	return out
}

// ParseDecimal reads a decimal such as "7.75", "-3" or "53 1/3" times factor,
// exactly where it can be, else rounded to a base unit. It refuses numbers
// that do not fit.
func ParseDecimal(s string, factor int64) (int64, error) {
	r, ok := new(big.Rat), false
	if whole, frac, found := strings.Cut(strings.TrimSpace(s), " "); found {
		var a, b *big.Rat
		if a, ok = new(big.Rat).SetString(whole); ok {
			if b, ok = new(big.Rat).SetString(strings.TrimSpace(frac)); ok {
				r.Add(a, b)
			}
		}
	} else if len(s) <= 40 {
		r, ok = r.SetString(strings.TrimSpace(s))
	}
	if !ok {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	r.Mul(r, new(big.Rat).SetInt64(factor))
	half := big.NewRat(1, 2)
	if r.Sign() < 0 {
		half.Neg(half)
	}
	r.Add(r, half)
	q := new(big.Int).Quo(r.Num(), r.Denom())
	if !q.IsInt64() {
		return 0, fmt.Errorf("%q is too large", s)
	}
	return q.Int64(), nil
}

// Num writes a number with at most two decimals and no trailing zeros.
func Num(f float64) string {
	return string(AppendNum(nil, f))
}

// AppendNum appends Num(f) to b.
func AppendNum(b []byte, f float64) []byte {
	f = math.Round(f*100) / 100
	if f == math.Trunc(f) && math.Abs(f) < 1e15 {
		return strconv.AppendInt(b, int64(f), 10)
	}
	return strconv.AppendFloat(b, f, 'f', -1, 64)
}

// FeetInches writes a height such as 5'2" or 4'6½".
func FeetInches(l Length) string {
	ft := l / Foot
	b := strconv.AppendInt(nil, int64(ft), 10)
	b = append(b, '\'')
	b = AppendNum(b, (l - ft*Foot).Inches())
	return string(append(b, '"'))
}

// Clock writes seconds left in a period as m:ss.
func Clock(sec int) string {
	return string(AppendClock(make([]byte, 0, 6), sec))
}

// AppendClock appends Clock(sec) to b.
func AppendClock(b []byte, sec int) []byte {
	if sec < 0 {
		b, sec = append(b, '-'), -sec
	}
	b = strconv.AppendInt(b, int64(sec/60), 10)
	return append(b, ':', byte('0'+sec%60/10), byte('0'+sec%10))
}
