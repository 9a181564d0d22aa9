package setout

import (
	"fmt"
	"math"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// pickClosing is how one station would close with a pair and so many shims.
type pickClosing struct {
	grip.Result
	chance, loose, tight float64
	known                bool
	off                  float64 // by how much the stack lies outside what the pair serves, mm: negative too loose
	never                string  // why it cannot close at all

	pair   grip.Pair
	soft   grip.Soft
	demand grip.Demand
	stack  spread.Sum
}

// DemandOf is what the job asks of a panel's stations.
func DemandOf(j *job.Job, l *job.Limits) grip.Demand {
	c := &j.Conditions
	return grip.Demand{PreloadMin: l.PreloadMin.Value, Ageing: c.Ageing.Value, RatingFactor: j.RatingFactor(l), HandTorque: c.HandTorque.Value,
		ToolTorque: c.ToolTorque.Value, Friction: c.Friction.Value}
}

// pickClose computes how a station with the stack closes with a pair and n shims.
func pickClose(j *job.Job, l *job.Limits, c pickPair, shim *stock.Shim, n int, stack *StackSum) pickClosing {
	out := pickClosing{pair: grip.Pair{Stud: c.stud, Plate: c.plate, Receptacle: c.rec, Shims: n}, demand: DemandOf(j, l), stack: stack.Sum}
	if n > 0 {
		out.pair.Shim = shim
	}
	out.pair.Bands = j.Range.BandsFor(c.stud.ID, c.plate.ID, c.rec.ID)
	if !out.pair.Usable() {
		out.never = fmt.Sprintf("the range states neither reach and rate of %s with %s nor a table for them", c.stud.ID, c.rec.ID)
		return out
	}
	if stock.HasGeometry(c.stud, c.rec) && c.rec.Rate.Nom <= c.rec.Rate.Tol {
		out.never = fmt.Sprintf("the limits of the rate of %s reach zero", c.rec.ID)
		return out
	}
	rate, known := StackSoft(stack, c.rec.FootArea)
	if !known {
		out.never = "a soft layer states no modulus, so its squeeze is not known"
		return out
	}
	out.soft = grip.SoftRate(rate)
	out.Result = out.pair.Close(stack.Nom, out.soft, out.demand)
	odds := out.pair.Chance(stack.Sum, out.soft, out.demand)
	out.chance, out.loose, out.tight, out.known = odds.Well, odds.Loose, odds.Tight, odds.Known
	switch {
	case out.Single:
		out.chance, out.loose, out.tight = math.NaN(), math.NaN(), math.NaN()
		out.off = stack.Nom - out.StackLo
	case out.HiBy == grip.ByNothing:
		out.never = fmt.Sprintf("nothing limits the deflection of %s: the range states neither the wire's limit nor a rating", c.rec.ID)
	case out.StackLo > out.StackHi:
		out.never = fmt.Sprintf("the least preload needs a deflection of %s, the %s allows %s", measure.MM(out.DeltaLo), out.HiBy, measure.MM(out.DeltaHi))
	default:
		out.off = out.pair.Miss(stack.Nom, out.soft, out.demand).Off
	}
	return out
}

// middle says which reach and which depth would close in the middle of the band, and with what chance.
func (c *pickClosing) middle() (reach, depth, chance float64) {
	m := c.pair.Miss(c.T, c.soft, c.demand)
	shift := m.Reach - c.R // a longer stud does what a thinner stack does
	return m.Reach, m.Depth, c.pair.Chance(append(spread.Sum{spread.ExactAt(-shift)}, c.stack...), c.soft, c.demand).Well
}

// spread is the distribution of δ at the station; none where the supplier's own table decides, which speaks of stacks alone.
func (c *pickClosing) spread() spread.Sum {
	if !c.known || len(c.pair.Bands) > 0 {
		return nil
	}
	sum := c.pair.DeltaSum(c.stack)
	if free := sum.Mean(); free > 0 { // soft layers yield in proportion
		delta, _ := c.soft.Squeeze(free, c.pair.Receptacle.Rate.Nom)
		return sum.Scaled(delta / free)
	}
	return sum
}
