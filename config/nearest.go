package config

import "strings"

// nearest is the candidate that name was probably meant to be, or "".
func nearest(name string, candidates []string) string {
	best, dist := "", 4
	low := strings.ToLower(name)
	for _, c := range candidates {
		lc := strings.ToLower(c)
		d := edits(low, lc)
		// A key that lost or gained its group is near too: bot_token, slack.book.
		if i := strings.LastIndexByte(lc, '.'); i >= 0 {
			d = min(d, edits(low, lc[i+1:])+1)
		}
		if i := strings.LastIndexByte(low, '.'); i >= 0 {
			d = min(d, edits(low[i+1:], lc)+1)
		}
		if d < dist && d*2 < len(low) {
			best, dist = c, d
		}
	}
	return best
}

// edits counts single-letter edits and swaps of neighbours between two words.
func edits(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return 99
	}
	x, y := []rune(a), []rune(b)
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(x)][len(y)]
}
