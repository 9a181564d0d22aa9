package sparse

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// leastSeparator counts paths that share no group from the places before lo to those from hi on, one at a time in a matrix of
// capacities: the least size of a separator between them [menger27].
func leastSeparator(touches func(i, j int) bool, n, lo, hi int) int {
	const plenty = 1 << 20
	capacity := make([][]int, 2*n) // group i: way in 2i, way out 2i+1
	for i := range capacity {
		capacity[i] = make([]int, 2*n)
	}
	for i := range n {
		capacity[2*i][2*i+1] = 1
		if i < lo || i >= hi {
			capacity[2*i][2*i+1] = plenty
		}
		for j := range n {
			if i != j && touches(i, j) {
				capacity[2*i+1][2*j] = plenty
			}
		}
		if i > 0 && i < lo { // all before the band are one beginning, all behind it one end
			capacity[0][2*i] = plenty
		}
		if i >= hi && i < n-1 {
			capacity[2*i+1][2*(n-1)] = plenty
		}
	}
	flow := 0
	for {
		from := slices.Repeat([]int{-1}, 2*n)
		from[0] = 0
		queue := []int{0}
		for len(queue) > 0 && from[2*n-1] < 0 {
			v := queue[0]
			queue = queue[1:]
			for w, c := range capacity[v] {
				if c > 0 && from[w] < 0 {
					from[w] = v
					queue = append(queue, w)
				}
			}
		}
		if from[2*n-1] < 0 {
			return flow
		}
		for w := 2*n - 1; w != 0; w = from[w] {
			capacity[from[w]][w]--
			capacity[w][from[w]]++
		}
		flow++
	}
}

func TestBentCutIsALeastSeparator(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	found := 0
	for range 400 {
		n := 6 + rng.IntN(50)
		s := Shape{Start: []int32{0}}
		for g := range n {
			s.Start = append(s.Start, int32(g+1))
			s.X, s.Y = append(s.X, float64(g)), append(s.Y, 0)
		}
		reach := 1 + rng.IntN(9)
		for range n * (1 + rng.IntN(3)) {
			a := rng.IntN(n - 1)
			s.Elements = append(s.Elements, []int32{int32(a), int32(min(n-1, a+1+rng.IntN(reach)))})
		}
		d := newDissection(s, make([]bool, n))
		list := make([]int32, n)
		for i := range list {
			list[i], d.at[i] = int32(i), int32(i)
		}
		lo := 1 + rng.IntN(n/2)
		hi := min(n-1, lo+1+rng.IntN(n/2))
		touches := func(i, j int) bool { return slices.Contains(d.adj[d.start[i]:d.start[i+1]], int32(j)) }
		across := false
		for i := range lo {
			for j := hi; j < n; j++ {
				across = across || touches(i, j)
			}
		}
		backward := rng.IntN(2) == 0
		if ok := d.narrow(list, lo, hi, backward); ok == across {
			t.Fatalf("parted %v, though something reaches across: %v", ok, across)
		} else if !ok {
			continue
		}
		found++
		label := slices.Clone(d.label)
		for i := range n {
			if i < lo {
				label[i] = 0
			} else if i >= hi {
				label[i] = 1
			}
		}
		size := 0
		for i := range n {
			if label[i] == 2 {
				size++
			}
			for j := range n {
				if label[i] == 0 && label[j] == 1 && touches(i, j) {
					t.Fatalf("groups %d and %d touch across the separator", i, j)
				}
			}
		}
		if want := leastSeparator(touches, n, lo, hi); size != want {
			t.Fatalf("%d groups between places %d and %d of %d, want %d", size, lo, hi, n, want)
		}
	}
	if found < 100 {
		t.Errorf("only %d graphs were parted", found)
	}
}
