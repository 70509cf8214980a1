package measure

import (
	"math"
	"testing"
)

// The public heat-index chart of the United States' National Weather Service,
// from memory: humidity in percent, then the index for each temperature from
// 80 °F on in steps of 2. The chart holds the regression without the adjustment
// for moist air, so rows over 85 % are not compared.
var chart = map[float64][]float64{
	40: {80, 81, 83, 85, 88, 91, 94, 97, 101, 105, 109, 114, 119, 124, 130, 136},
	45: {80, 82, 84, 87, 89, 93, 96, 100, 104, 109, 114, 119, 124, 130, 137},
	50: {81, 83, 85, 88, 91, 95, 99, 103, 108, 113, 118, 124, 131, 137},
	55: {81, 84, 86, 89, 93, 97, 101, 106, 112, 117, 124, 130, 137},
	60: {82, 84, 88, 91, 95, 100, 105, 110, 116, 123, 129, 137},
	65: {82, 85, 89, 93, 98, 103, 108, 114, 121, 128, 136},
	70: {83, 86, 90, 95, 100, 105, 112, 119, 126, 134},
	75: {84, 88, 92, 97, 103, 109, 116, 124, 132},
	80: {84, 89, 94, 100, 106, 113, 121, 129},
	85: {85, 90, 96, 102, 110, 117, 126, 135},
}

func TestHeatIndexChart(t *testing.T) {
	t.Parallel()
	points := 0
	for humidity, row := range chart {
		for i, want := range row {
			temp := 80 + 2*float64(i)
			points++
			// Within 1 °F: the chart's entries are whole degrees.
			if got := HeatIndexF(temp, humidity); math.Abs(math.Round(got)-want) > 1 {
				t.Errorf("%v °F and %v %%: %.2f, the chart has %v", temp, humidity, got, want)
			}
		}
	}
	if points < 30 {
		t.Errorf("only %d points compared", points)
	}
}

// Worked by hand from the written formula, in steps that are not the code's.
func TestHeatIndexByHand(t *testing.T) {
	t.Parallel()
	regression := func(t, r float64) float64 {
		// by powers of the humidity
		c0 := -42.379 + t*(2.04901523-0.00683783*t)
		c1 := 10.14333127 + t*(-0.22475541+0.00122874*t)
		c2 := -0.05481717 + t*(0.00085282-0.00000199*t)
		return c0 + r*(c1+r*c2)
	}
	for _, tt := range []struct {
		name           string
		temp, humidity float64
		want           float64
	}{
		// (70 + 0.5·(70+61+2.4+4.7))/2 = (70+69.05)/2
		{"cool: the simple form", 70, 50, 69.525},
		// (40 + 0.5·(40+61−33.6+9.4))/2 = (40+38.4)/2
		{"cold", 40, 100, 39.2},
		// (79 + 0.5·(79+61+13.2+4.7))/2 = (79+78.95)/2
		{"just below the regression", 79, 50, 78.975},
		// simple 0.5·(80+61+14.4+3.76) = 79.58, mean 79.79: it stands
		{"80 °F and dry keeps the simple form", 80, 40, 79.79},
		// simple 0.5·(79+61+13.2+9.4) = 81.3, mean 80.15: regression, no adjustment below 80 °F
		{"79 °F and moist takes the regression", 79, 100, regression(79, 100)},
		{"dry: adjusted down", 95, 5, regression(95, 5) - 2},                     // (13−5)/4·√(17/17)
		{"dry: off the middle", 112, 5, regression(112, 5)},                      // √0
		{"dry: 100 °F", 100, 9, regression(100, 9) - math.Sqrt(12.0/17)},         // (13−9)/4 = 1
		{"dry: exactly 13 % is not adjusted", 95, 13, regression(95, 13)},        //
		{"dry: hotter than 112 °F is not adjusted", 113, 5, regression(113, 5)},  //
		{"moist: adjusted up", 82, 95, regression(82, 95) + 1},                   // 10/10·5/5
		{"moist: 80 °F", 80, 100, regression(80, 100) + 2.1},                     // 15/10·7/5
		{"moist: 87 °F is adjusted by nothing", 87, 90, regression(87, 90)},      //
		{"moist: hotter than 87 °F is not adjusted", 88, 90, regression(88, 90)}, //
		{"moist: exactly 85 % is not adjusted", 84, 85, regression(84, 85)},      //
		{"in between: no adjustment", 94, 60, regression(94, 60)},                //
		{"in between: fractions", 90.5, 47.25, regression(90.5, 47.25)},          //
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := HeatIndexF(tt.temp, tt.humidity); math.Abs(got-tt.want) > 1e-9 {
				t.Errorf("%v °F and %v %%: %.6f, want %.6f", tt.temp, tt.humidity, got, tt.want)
			}
		})
	}
}
