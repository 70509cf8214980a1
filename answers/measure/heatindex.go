package measure

import "math"

// HeatIndexF is the heat index in °F for an air temperature in °F and a relative
// humidity in percent, not rounded.
//
// It is the public formula of the United States' weather service: a simple form,
// averaged with the temperature, which stands where it stays below 80; otherwise
// a regression with one adjustment for dry and one for very moist air. The
// numbers are the formula's own, none of them is a rule of the game. Outside
// what the formula was made for (humidity off 0 to 100) the result means nothing.
func HeatIndexF(tempF, humidityPct float64) float64 {
	t, r := tempF, humidityPct
	simple := 0.5 * (t + 61 + 1.2*(t-68) + 0.094*r)
	if mean := (simple + t) / 2; mean < 80 {
		return mean
	}
	hi := -42.379 + 2.04901523*t + 10.14333127*r - 0.22475541*t*r -
		0.00683783*t*t - 0.05481717*r*r + 0.00122874*t*t*r +
		0.00085282*t*r*r - 0.00000199*t*t*r*r
	switch {
	case r < 13 && 80 <= t && t <= 112:
		hi -= (13 - r) / 4 * math.Sqrt((17-math.Abs(t-95))/17)
	case r > 85 && 80 <= t && t <= 87:
		hi += (r - 85) / 10 * (87 - t) / 5
	}
	return hi
}
