package penalty

import (
	"cmp"
	"slices"
)

// share is one player's time from one restart.
type share struct {
	who        int
	name       string
	total      int
	releasable int
	first      int // his first foul of the group
	common     int
}

// match makes the time common to both sides non-releasable for the fouls of one
// restart. Players are paired, longest time with longest, and so on; who has no
// partner stays as he was. Among equal times the one with less releasable time
// is paired first, then by name, so that the order of entry does not matter.
func (s *sim) match(t int, group []int) {
	var count [2]int
	for _, i := range group {
		count[s.fouls[i].Side]++
	}
	if count[A] == 0 || count[B] == 0 {
		return
	}
	m := Match{At: s.clock.beginning(t)}
	for _, i := range group {
		m.TimeS[s.fouls[i].Side] += s.fouls[i].LengthS
	}
	if m.HasBall = m.TimeS[A] != m.TimeS[B]; m.HasBall && m.TimeS[B] < m.TimeS[A] {
		m.Ball = B
	}
	s.result.Matches = append(s.result.Matches, m)

	sides := [2][]share{s.shares(group, A), s.shares(group, B)}
	for k := range min(len(sides[A]), len(sides[B])) {
		common := min(sides[A][k].total, sides[B][k].total)
		sides[A][k].common, sides[B][k].common = common, common
	}
	for _, shares := range sides {
		for k, sh := range shares {
			s.spread(group, sh, doubtful(shares, k))
		}
	}
}

// shares adds up each player's time, longest first.
func (s *sim) shares(group []int, side Side) []share {
	var shares []share
	for _, i := range group {
		if s.fouls[i].Side != side {
			continue
		}
		who := s.pens[i].player
		k := slices.IndexFunc(shares, func(sh share) bool { return sh.who == who })
		if k < 0 {
			k = len(shares)
			shares = append(shares, share{who: who, name: s.fouls[i].Who, first: i})
		}
		shares[k].total += s.fouls[i].LengthS
		shares[k].releasable += s.fouls[i].LengthS - s.pens[i].nr
	}
	slices.SortFunc(shares, func(x, y share) int {
		return cmp.Or(cmp.Compare(y.total, x.total), cmp.Compare(x.releasable, y.releasable),
			cmp.Compare(x.name, y.name), cmp.Compare(x.first, y.first))
	})
	return shares
}

// spread makes the first common seconds that a player serves non-releasable:
// his non-releasable fouls take their part of it first.
func (s *sim) spread(group []int, sh share, doubt bool) {
	common := sh.common
	for _, releasable := range [2]bool{false, true} {
		for _, i := range group {
			p := &s.pens[i]
			if p.player != sh.who || s.fouls[i].Releasable != releasable {
				continue
			}
			part := min(common, s.fouls[i].LengthS)
			common -= part
			p.nr = max(p.nr, part)
			if doubt {
				s.result.Outcomes[i].Open |= OpenPartner
			}
		}
	}
}

// doubtful reports whether a player of the same side with equal time got
// another share of the common time, so that the choice between them mattered.
func doubtful(shares []share, k int) bool {
	mine := shares[k]
	for _, other := range shares {
		if other.total == mine.total && other.common != mine.common && (other.releasable > 0 || mine.releasable > 0) {
			return true
		}
	}
	return false
}
