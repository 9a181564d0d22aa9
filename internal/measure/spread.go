package measure

import (
	"fmt"
	"math"
	"math/big"
	"strings"
)

// readLimits reads value ± half. A unit written on one side only holds for both; % on the half alone is of the value.
func (p Parser) readLimits(q *Quantity, left, right piece) *ParseError {
	left, right = left.trim(), right.trim()
	for _, w := range []piece{left, right} {
		if len(w.runes) == 0 {
			return w.wrong(RuleLimits, "nothing beside ±", "a value ± half the width, as 2.6 ± 0.3 mm", "write both")
		}
	}
	if at, _ := right.plusMinus(); at >= 0 {
		return right.wrong(RuleLimits, "a second ±", "one ±, as 2.6 ± 0.3 mm", "write the whole half-width once")
	}
	value, err := p.readAmount(left, q.Dim)
	if err != nil {
		return err
	}
	half, share, err := p.readHalf(right, q.Dim)
	if err != nil {
		return err
	}
	if share && q.Dim == Number && value.unit == nil {
		return right.wrong(RuleLimits, right.quote()+" beside a plain number", "the same unit on both sides", "write % on both sides, or on neither")
	}
	share = share && q.Dim != Number
	if value.unit == nil && !value.named && !share {
		value.unit = half.unit
	}
	if err := p.settle(&value, q.Dim); err != nil {
		return err
	}
	if half.unit == nil && !share && !value.named {
		half.unit = value.unit
	}
	if half.written.Sign() < 0 {
		return right.wrong(RuleLimits, "a negative half-width "+right.quote(), "half the width, nought or more", "leave the sign out")
	}
	q.Value, q.Spread = value.value(), Limits
	if share {
		f, _ := times(half.written, rat("1/100")).Float64()
		q.Half = f * math.Abs(q.Value)
		return nil
	}
	if err := p.settle(&half, q.Dim); err != nil {
		return err
	}
	q.Half = half.unit.span(half.written)
	return nil
}

// readHalf reads the half-width; share is true when it is written in %.
func (p Parser) readHalf(w piece, dim Dimension) (a amount, share bool, err *ParseError) {
	v, used, err := w.number(dim)
	if err != nil {
		return a, false, err
	}
	a = amount{written: v, at: w}
	rest := w.part(used, len(w.runes)).trim()
	if len(rest.runes) == 0 {
		return a, false, nil
	}
	if u := findUnit(Number, rest.String()); u != nil {
		if dim == Temperature {
			return a, false, w.wrong(RuleLimits, w.quote()+" of a temperature", "limits in °C, °F or K", "write degrees")
		}
		if dim == Number {
			a.unit = u
		}
		return a, true, nil
	}
	if a.unit = findUnit(dim, rest.String()); a.unit == nil {
		return a, false, unknownUnit(w, rest, dim)
	}
	return a, false, nil
}

// readReadings reads readings [a, b, c] unit: the mean, and s/√n as the standard uncertainty of the mean (JCGM 100:2008
// 4.2.3). Equal readings give StdUnc 0: the resolution of the instrument is the caller's to add.
func (p Parser) readReadings(q *Quantity, w piece) *ParseError {
	const form = "readings [6.1, 6.3, 6.2] mm"
	open, end := -1, -1
	for i, c := range w.runes {
		if c == '[' && open < 0 {
			open = i
		}
		if c == ']' && end < 0 {
			end = i
		}
	}
	if open < 0 || end < open {
		return w.wrong(RuleQuantity, w.quote(), "readings in square brackets, as "+form, "write the brackets")
	}
	if word := w.part(0, open).trim().String(); !strings.EqualFold(word, "readings") && !strings.EqualFold(word, "reading") {
		return w.wrong(RuleQuantity, w.quote(), form, "write nothing between the word and the bracket")
	}
	var common *unit
	if tail := w.part(end+1, len(w.runes)).trim(); len(tail.runes) > 0 {
		if common = findUnit(q.Dim, tail.String()); common == nil {
			return unknownUnit(w, tail, q.Dim)
		}
	}
	items := w.part(open+1, end).split()
	if len(items) > maxReadings {
		return w.wrong(RuleTooLong, fmt.Sprintf("%d readings", len(items)), fmt.Sprintf("at most %d", maxReadings), "leave some out")
	}
	q.Spread = Readings
	sum := new(big.Rat)
	for _, item := range items {
		x, err := p.reading(item, q.Dim, common)
		if err != nil {
			return err
		}
		q.Readings = append(q.Readings, x)
		sum.Add(sum, new(big.Rat).SetFloat64(x))
	}
	if n := len(q.Readings); n < 2 {
		return w.wrong(RuleOneReading, w.quote(), "two readings or more, as "+form,
			"one reading says nothing of the spread: measure at another place, or state limits as 6.1 ± 0.1 mm")
	}
	q.Value, q.StdUnc = meanAndUncertainty(q.Readings, sum)
	return nil
}

func (p Parser) reading(w piece, dim Dimension, common *unit) (float64, *ParseError) {
	w = w.trim()
	if len(w.runes) == 0 {
		return 0, w.wrong(RuleQuantity, "an empty reading", "numbers with commas between", "write the reading or leave the comma out")
	}
	a, err := p.readAmount(w, dim)
	if err != nil {
		return 0, err
	}
	if a.unit == nil && !a.named {
		a.unit = common
	}
	if err := p.settle(&a, dim); err != nil {
		return 0, err
	}
	return a.value(), nil
}

// split cuts at semicolons when there are any, else at commas.
func (w piece) split() []piece {
	mark := ','
	for _, c := range w.runes {
		if c == ';' {
			mark = ';'
		}
	}
	var out []piece
	from := 0
	for i, c := range w.runes {
		if c == mark {
			out = append(out, w.part(from, i))
			from = i + 1
		}
	}
	if from == 0 && len(w.trim().runes) == 0 {
		return nil
	}
	return append(out, w.part(from, len(w.runes)))
}

func meanAndUncertainty(x []float64, sum *big.Rat) (mean, stdUnc float64) {
	n := float64(len(x))
	mean, _ = per(sum, new(big.Rat).SetInt64(int64(len(x)))).Float64()
	squares := 0.0
	for _, v := range x {
		squares += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(squares / (n - 1) / n)
}
