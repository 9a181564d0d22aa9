package plate

import (
	"runtime"
	"sync"
)

// Change is another law at one interface point.
type Change struct {
	Point int
	Law   Law
}

// Variant is the end of one variant of a panel: an answer, or why there is none.
type Variant struct {
	Answer *Answer
	Err    error // *NotHeld, *NotConverged
}

// Variants solves the panel once for each list of changes to its laws, from the answer from (which may be nil): a station left
// out, or moved to another point. They run in parallel, in as many goroutines as workers says (0: one for each processor); which
// one solves what changes no digit.
func (c *Compliance) Variants(f []float64, laws []Law, from *Answer, changes [][]Change, workers int) []Variant {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	out := make([]Variant, len(changes))
	var wait sync.WaitGroup
	next := make(chan int, len(changes))
	for i := range changes {
		next <- i
	}
	close(next)
	for range min(workers, len(changes)) {
		wait.Go(func() {
			own := make([]Law, len(laws))
			for i := range next {
				copy(own, laws)
				for _, ch := range changes[i] {
					own[ch.Point] = ch.Law
				}
				out[i].Answer, out[i].Err = c.Solve(f, own, from)
			}
		})
	}
	wait.Wait()
	return out
}
