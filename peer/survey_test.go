package peer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"panelwright/internal/plane"
	"panelwright/internal/survey"
)

// adjusted is what testdata/survey.py says of a net.
type adjusted struct {
	At                      [][2]float64
	Residuals, Redundancies []float64
	Covariance              [][]float64
	Chi2, Limit             float64
	Freedom                 int
}

// Adjusted corners, residuals, redundancies, covariances and the chi-square limit of 24 nets, against
// scipy.optimize.least_squares from the true figure, numpy's inverse of the normal equations by numerical derivatives, and
// scipy.stats.chi2.
func TestSurvey(t *testing.T) {
	python := pythonWith(t, "numpy", "scipy")
	type net struct {
		Start     [][2]float64      `json:"start"`
		Distances []survey.Distance `json:"distances"`
	}
	var nets []net
	rnd := rand.New(rand.NewPCG(11, 12))
	for range 24 {
		n := net{}
		corners := 4 + rnd.IntN(6)
		var at []plane.Point
		for i := range corners {
			at = append(at, plane.Point{X: 400 + 300*rnd.Float64()}.Rotate(2*math.Pi*(float64(i)+0.5*rnd.Float64())/float64(corners)))
		}
		e := at[1].Sub(at[0]).Unit()
		for _, p := range at {
			d := p.Sub(at[0])
			n.Start = append(n.Start, [2]float64{d.Dot(e), e.Cross(d)})
		}
		for i := range corners {
			for j := i + 1; j < corners; j++ {
				// Edges and two fans always, so that the net is rigid and over-measured; of the other diagonals, half.
				if j == i+1 || i == 0 || i == 1 || rnd.IntN(2) == 0 {
					unc := 0.3 + 2*rnd.Float64()
					n.Distances = append(n.Distances, survey.Distance{From: i, To: j, Length: at[i].Dist(at[j]) + unc*rnd.NormFloat64(), StdUnc: unc})
				}
			}
		}
		nets = append(nets, n)
	}
	in, err := json.Marshal(nets)
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(python, "testdata/survey.py")
	var complaint bytes.Buffer
	run.Stdin, run.Stderr = bytes.NewReader(in), &complaint
	out, err := run.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, complaint.Bytes())
	}
	var want []adjusted
	if err := json.Unmarshal(out, &want); err != nil || len(want) != len(nets) {
		t.Fatalf("%d results for %d nets, %v", len(want), len(nets), err)
	}
	for i, n := range nets {
		got, err := survey.Adjust(survey.Net{Corners: len(n.Start), Distances: n.Distances})
		if err != nil {
			t.Errorf("net %d: %v", i, err)
			continue
		}
		for _, f := range surveyDiffers(got, want[i]) {
			t.Errorf("net %d: %s", i, f)
		}
	}
}

func surveyDiffers(got *survey.Result, want adjusted) (found []string) {
	same := func(what string, a, b, tol float64) {
		if !(math.Abs(a-b) <= tol) {
			found = append(found, fmt.Sprintf("%s: %.9g, the other program has %.9g", what, a, b))
		}
	}
	// The other program ends where its sum of squares no longer falls, which leaves corners some 1e-6 mm off; its derivatives are
	// right to 1e-6 or so.
	for c, k := range got.Corners {
		same(fmt.Sprintf("corner %d x", c), k.At.X, want.At[c][0], 1e-4)
		same(fmt.Sprintf("corner %d y", c), k.At.Y, want.At[c][1], 1e-4)
		same(fmt.Sprintf("corner %d sx", c), k.SX, math.Sqrt(want.Covariance[2*c][2*c]), 1e-4)
	}
	for i := range want.Covariance {
		for j := range want.Covariance {
			same(fmt.Sprintf("covariance %d %d", i, j), got.Covariance[i][j], want.Covariance[i][j], 1e-4*(1+math.Abs(want.Covariance[i][j])))
		}
	}
	for i, q := range got.Readings {
		same(fmt.Sprintf("residual %d", i), q.Residual, want.Residuals[i], 1e-4)
		same(fmt.Sprintf("redundancy %d", i), q.Redundancy, want.Redundancies[i], 1e-5)
	}
	same("chi square", got.ChiSq, want.Chi2, 1e-6*(1+want.Chi2))
	same("limit", got.Limit, want.Limit, 1e-8*want.Limit)
	same("freedom", float64(got.Freedom), float64(want.Freedom), 0)
	return found
}
