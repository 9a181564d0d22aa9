package setout

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"panelwright/internal/measure"
)

// distribute shares the stations that are asked for, less those that stand already, among the spans: by length, with the
// largest-remainder rule, but none fewer than the greatest pitch needs and none more than the least pitch allows. Where that
// cannot be, the fault says what can, and the spans keep what the greatest pitch needs.
func (b *placeBoard) distribute(spans []placeSpan) {
	want := b.pan.Job.Stations.Count
	free := want - len(b.spots)
	least, most := 0, 0
	for _, s := range spans {
		least += s.least
		most += b.most(s)
	}
	switch {
	case free < 0:
		b.faults = append(b.faults, fmt.Sprintf("%d stations are asked for, but corners and ends of seat lines take %d: ask for at least %d",
			want, len(b.spots), len(b.spots)+least))
		return
	case free < least:
		b.faults = append(b.faults, fmt.Sprintf("%d stations are asked for, but a greatest pitch of %s needs %d; ask for those, or allow a pitch of %s",
			want, measure.MM(b.pitchMax), len(b.spots)+least, measure.MM(b.pitchFor(spans, free))))
		return
	case free > most:
		b.faults = append(b.faults, fmt.Sprintf("%d stations are asked for, but a least pitch of %s leaves room for %d at most",
			want, measure.MM(b.pitchMin), len(b.spots)+most))
		for i := range spans {
			spans[i].count = spans[i].least
		}
		return
	}
	lengths, lo, hi := make([]float64, len(spans)), make([]int, len(spans)), make([]int, len(spans))
	for i, s := range spans {
		lengths[i], lo[i], hi[i] = s.length(), s.least, b.most(s)
	}
	for i, n := range placeShare(free, lengths, lo, hi) {
		spans[i].count = n
	}
}

// counted says that another number of stations stands than was asked for: at the fault that tells why, or as one of its own.
func (b *placeBoard) counted() {
	want, have := b.pan.Job.Stations.Count, len(b.pan.Stations)
	if b.pan.Job.Stations.Mode != "count" || want == have {
		return
	}
	asked := fmt.Sprintf("%d stations are asked for", want)
	b.pan.countNote = fmt.Sprintf("; %s, but %d stand, see the faults", asked, have)
	for i, f := range b.faults {
		if strings.HasPrefix(f, asked) {
			b.faults[i] = fmt.Sprintf("%s; set out are %d instead", f, have)
			return
		}
	}
	b.faults = append(b.faults, fmt.Sprintf("%s, but only %d have room", asked, have))
}

// most is how many stations fit between the ends of a span at the least pitch.
func (b *placeBoard) most(s placeSpan) int {
	if b.pitchMin <= 0 {
		return math.MaxInt32
	}
	return max(s.least, int(math.Floor(s.length()/b.pitchMin+1e-9))-1)
}

// pitchFor is the least greatest pitch at which so many stations are enough for the spans.
func (b *placeBoard) pitchFor(spans []placeSpan, n int) float64 {
	longest := 0.0
	for _, s := range spans {
		longest = math.Max(longest, s.length())
	}
	need := func(pitch float64) int {
		sum := 0
		for _, s := range spans {
			sum += max(0, int(math.Ceil(s.length()/pitch-1e-9))-1)
		}
		return sum
	}
	lo, hi := 0.0, longest // at the longest span's length none is needed
	const halvings = 60
	for range halvings {
		if mid := (lo + hi) / 2; mid > 0 && need(mid) <= n {
			hi = mid
		} else {
			lo = mid
		}
	}
	return math.Ceil(hi)
}

// placeShare shares n among items in proportion to their weights, by largest remainder, within lo and hi of each. The sums
// of lo and hi must admit n. Items held at a bound leave the rest to the others; equal remainders go to the earlier item.
func placeShare(n int, weight []float64, lo, hi []int) []int {
	out := make([]int, len(weight))
	held := make([]bool, len(weight))
	for range weight { // each round holds at least one item more, or ends
		left, total := n, 0.0
		for i := range weight {
			if held[i] {
				left -= out[i]
			} else {
				total += weight[i]
			}
		}
		if total == 0 {
			break
		}
		placeShareOnce(out, left, total, weight, held)
		// Hold the bounds on the side that is broken by more in all; the other side may then right itself.
		under, over := 0, 0
		for i := range out {
			under += max(0, lo[i]-out[i])
			over += max(0, out[i]-hi[i])
		}
		if under == 0 && over == 0 {
			return out
		}
		for i := range out {
			if held[i] {
				continue
			}
			if under >= over && out[i] < lo[i] {
				out[i], held[i] = lo[i], true
			} else if over > under && out[i] > hi[i] {
				out[i], held[i] = hi[i], true
			}
		}
	}
	return out
}

// placeShareOnce shares left among the items that are not held.
func placeShareOnce(out []int, left int, total float64, weight []float64, held []bool) {
	type rest struct {
		i int
		r float64
	}
	var rests []rest
	given := 0
	for i := range weight {
		if held[i] {
			continue
		}
		quota := float64(left) * weight[i] / total
		out[i] = int(math.Floor(quota + 1e-9))
		given += out[i]
		rests = append(rests, rest{i, quota - float64(out[i])})
	}
	sort.SliceStable(rests, func(x, y int) bool { return rests[x].r > rests[y].r+1e-9 })
	for k := 0; k < left-given; k++ {
		out[rests[k%len(rests)].i]++
	}
}

// placeUnique drops sentences that stand there already.
func placeUnique(list []string) []string {
	var out []string
	for _, s := range list {
		if s != "" && !strings.Contains("\n"+strings.Join(out, "\n")+"\n", "\n"+s+"\n") {
			out = append(out, s)
		}
	}
	return out
}
