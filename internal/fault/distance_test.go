package fault

import (
	"math/rand/v2"
	"testing"
)

// plain is the recursion that defines the optimal string alignment distance.
func plain(a, b []rune) int {
	if len(a) == 0 || len(b) == 0 {
		return len(a) + len(b)
	}
	i, j := len(a)-1, len(b)-1
	change := 1
	if a[i] == b[j] {
		change = 0
	}
	d := min(plain(a[:i], b)+1, plain(a, b[:j])+1, plain(a[:i], b[:j])+change)
	if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
		d = min(d, plain(a[:i-1], b[:j-1])+1)
	}
	return d
}

func TestDistanceEqualsRecursion(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	word := func() []rune {
		w := make([]rune, rng.IntN(7))
		for i := range w {
			w[i] = 'a' + rng.Int32N(3)
		}
		return w
	}
	for range 400 {
		a, b := word(), word()
		got, want := distance(a, b), plain(a, b)
		if got != want || distance(b, a) != want {
			t.Fatalf("seed 5,6: distance(%q, %q) = %d, want %d", string(a), string(b), got, want)
		}
	}
}
