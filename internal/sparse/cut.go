package sparse

// cutBand narrows a cut to the fewest groups that hold the two sides apart: among all separators that lie in a band about the
// straight cut, by as many paths from side to side that share no group as there are [menger27]. Each
// path needs a group of its own in any separator, so the count of paths is the least size.
type cutBand struct {
	d           *dissection
	lo, hi      int32   // places in the list at work that make up the band
	sign        int32   // +1: paths run to higher places, −1 to lower ones
	group       []int32 // by place in the band
	before      []int32 // previous place on the path through a place, or cutStart, or cutFree
	seenIn      []bool  // reached from the start, before and behind the group itself
	seenOut     []bool
	first, last []bool // touches what lies before the band, and behind it
}

const (
	cutFree  = -2 // no path
	cutStart = -1 // the path begins here
)

// narrow finds the separator between the places before lo and those from hi on. It writes the part of every group of the band
// into label (0 before, 1 behind, 2 between) and returns false when the band does not part them at all.
func (d *dissection) narrow(list []int32, lo, hi int, backward bool) bool {
	c := &d.band
	n := hi - lo
	c.d, c.lo, c.hi = d, int32(lo), int32(hi)
	c.group = list[lo:hi]
	c.before = grown(c.before, n)
	c.seenIn, c.seenOut = grown(c.seenIn, n), grown(c.seenOut, n)
	c.first, c.last = grown(c.first, n), grown(c.last, n)
	for i, g := range c.group {
		c.before[i] = cutFree
		low, high := d.reach(g, int32(lo+i))
		c.first[i], c.last[i] = low < c.lo, high >= c.hi
	}
	for i, g := range list[:lo] {
		if _, high := d.reach(g, int32(i)); high >= c.hi {
			return false
		}
	}
	if backward {
		c.first, c.last = c.last, c.first
	}
	for more := true; more; {
		more = false
		clear(c.seenIn)
		clear(c.seenOut)
		for i := range int32(n) {
			if c.first[i] && c.before[i] != cutStart && c.enter(i, cutStart) {
				more = true
			}
		}
	}
	// Nothing is left to find: the last search and the used beginnings mark all that the start reaches.
	for i := range int32(n) {
		c.seenIn[i] = c.seenIn[i] || c.first[i]
	}
	near, far := int8(0), int8(1)
	if backward {
		near, far = 1, 0
	}
	for i, g := range c.group {
		switch {
		case c.seenOut[i]:
			d.label[g] = near
		case c.seenIn[i]:
			d.label[g] = 2
		default:
			d.label[g] = far
		}
	}
	return true
}

// enter brings one more path to place i from another, and says whether it gets to the end.
func (c *cutBand) enter(i, from int32) bool {
	if c.seenIn[i] {
		return false
	}
	c.seenIn[i] = true
	if b := c.before[i]; b == cutFree && c.leave(i) || b >= 0 && c.leave(b) {
		c.before[i] = from
		return true
	}
	return false
}

// leave takes a path that stands behind place i to the end: by a neighbour, or by giving the group up and sending the path that
// came through it another way.
func (c *cutBand) leave(i int32) bool {
	if c.seenOut[i] {
		return false
	}
	c.seenOut[i] = true
	if c.last[i] {
		return true
	}
	for _, h := range c.d.adj[c.d.start[c.group[i]]:c.d.start[c.group[i]+1]] {
		if j := c.d.at[h]; j >= c.lo && j < c.hi && c.enter(j-c.lo, i) {
			return true
		}
	}
	if b := c.before[i]; b >= 0 && !c.seenIn[i] {
		c.seenIn[i] = true
		if c.leave(b) {
			c.before[i] = cutFree
			return true
		}
	}
	return false
}

// grown returns a slice of n, the old one when it is long enough.
func grown[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n+n/2)[:n]
	}
	return s[:n]
}
