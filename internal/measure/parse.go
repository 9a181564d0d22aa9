package measure

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"unicode/utf8"
)

// Bounds of what is read: they keep the work small, and nobody who measures a panel meets them.
const (
	maxText     = 2000 // runes in one quantity
	maxDigits   = 30   // digits in one number
	maxExponent = 30   // of ten
	maxReadings = 200
)

// maxWritten bounds a number in the unit that it is written in; every unit's factor keeps it far inside a float64.
var maxWritten = rat("1000000000000")

// Parse reads one quantity of dimension dim, as people write it:
//
//	4.3 mm   -1.2   .187 in   3/32 in   1-3/16"   1 3/16 in   ½ in   2 ft 3-1/2 in      numbers and units
//	#30   number 30   no. 30   letter F                                                 drills, by p.Named
//	16 swg   18 awg   20 msg   18 gsg   16 ga stainless   16 ga galvanized              gauges, by p.Named
//	2.6 ± 0.3 mm   2.6 mm +/- 0.3 mm   0.102 in +- 5 %                                  limits
//	readings [6.1, 6.3, 6.2] mm                                                         two readings or more
//
// A bare number takes the unit p.Units[dim]; a Number needs none. Fractions and conversions are exact, with one rounding
// at the end. The sign is the caller's to judge, save for temperatures below absolute zero. Refused, each with a rule and
// a hint: a decimal comma, thousands marks, "18 gauge" without its system, a single reading, unequal limits. The error is
// nil when the text was read; its Offset counts runes from the start of text.
func (p Parser) Parse(text string, dim Dimension) (Quantity, *ParseError) {
	if n := utf8.RuneCountInString(text); n > maxText {
		return Quantity{}, &ParseError{Rule: RuleTooLong, Found: fmt.Sprintf("%d characters", n),
			Accept: fmt.Sprintf("at most %d", maxText), Hint: "write one quantity"}
	}
	w := piece{runes: normal(text)}.trim()
	q := Quantity{Dim: dim, Text: text}
	var err *ParseError
	switch at, width := w.plusMinus(); {
	case len(w.runes) == 0:
		return Quantity{}, &ParseError{Rule: RuleQuantity, Found: "nothing", Accept: acceptDim(dim), Hint: "write the " + dim.String()}
	case w.startsWithWord("readings") || w.startsWithWord("reading"):
		err = p.readReadings(&q, w)
	case at >= 0:
		err = p.readLimits(&q, w.part(0, at), w.part(at+width, len(w.runes)))
	default:
		var a amount
		if a, err = p.readAmount(w, dim); err == nil {
			err = p.settle(&a, dim)
		}
		if err == nil {
			q.Value = a.value()
		}
	}
	if err == nil {
		err = checkValue(q, w)
	}
	if err != nil {
		return Quantity{}, err
	}
	return q, nil
}

// amount is a number with the unit that it was written with, or a named size.
type amount struct {
	written *big.Rat
	unit    *unit // nil: bare
	named   bool
	mm      float64 // of a named size
	at      piece
}

func (a amount) value() float64 {
	if a.named {
		return a.mm
	}
	return a.unit.house(a.written)
}

// settle gives a bare number its unit.
func (p Parser) settle(a *amount, dim Dimension) *ParseError {
	if a.named || a.unit != nil {
		return nil
	}
	if dim == Number {
		a.unit = &plain
		return nil
	}
	name, declared := p.Units[dim]
	if !declared {
		return a.at.wrong(RuleMissingUnit, a.at.quote()+" without a unit", acceptDim(dim),
			fmt.Sprintf("write the unit, as %s %s", a.at, Accepted(dim)[0]))
	}
	if a.unit = findUnit(dim, name); a.unit == nil {
		return a.at.wrong(RuleUnknownUnit, fmt.Sprintf("the declared unit %q, which is no unit of %s", name, dim), acceptDim(dim), "declare one of these")
	}
	return nil
}

var plain = unit{dim: Number, factor: rat("1"), names: []string{""}}

// readAmount reads a named size, or a number and its unit.
func (p Parser) readAmount(w piece, dim Dimension) (amount, *ParseError) {
	w = w.trim()
	if dim == Length {
		if a, is, err := p.readNamed(w); is {
			return a, err
		}
	}
	v, used, err := w.number(dim)
	if err != nil {
		return amount{}, err
	}
	a := amount{written: v, at: w}
	rest := w.part(used, len(w.runes)).trim()
	if len(rest.runes) == 0 {
		return a, nil
	}
	if dim == Length {
		if is, err := feetAndInches(&a, rest); is {
			return a, err
		}
	}
	if a.unit = findUnit(dim, rest.String()); a.unit == nil {
		return a, unknownUnit(w, rest, dim)
	}
	return a, nil
}

// feetAndInches reads what follows the number in 2 ft 3-1/2 in, or 2' 3-1/2".
func feetAndInches(a *amount, rest piece) (bool, *ParseError) {
	split := -1
	for i, c := range rest.runes {
		if isDigit(c) || fractionGlyph(c) != nil {
			split = i
			break
		}
	}
	if split < 1 || findUnit(Length, strings.Trim(string(rest.runes[:split]), " -")) != unitIndex[unitKey{Length, "ft"}] {
		return false, nil
	}
	second := rest.part(split, len(rest.runes))
	v, used, err := second.number(Length)
	if err != nil {
		return true, err
	}
	unitText := second.part(used, len(second.runes)).trim()
	in := unitIndex[unitKey{Length, "in"}]
	if findUnit(Length, unitText.String()) != in {
		return true, unitText.wrong(RuleQuantity, second.quote()+" after the feet", "inches after feet, as 2 ft 3-1/2 in", "write the inches with their unit")
	}
	if v.Cmp(rat("12")) >= 0 || !a.written.IsInt() {
		return true, a.at.wrong(RuleQuantity, a.at.quote(), "whole feet and less than 12 in", "write it in inches alone")
	}
	feet := times(a.written, rat("12"))
	if a.at.runes[0] == '-' {
		feet.Sub(feet, v)
	} else {
		feet.Add(feet, v)
	}
	a.written, a.unit = feet, in
	return true, nil
}

func unknownUnit(w, rest piece, dim Dimension) *ParseError {
	text := rest.String()
	if c := rest.runes[0]; len(rest.runes) > 1 && (c == '+' || c == '-') && isDigit(rest.runes[1]) {
		return rest.wrong(RuleLimits, rest.quote()+" after "+w.part(0, len(w.runes)-len(rest.runes)).trim().quote(),
			"equal limits, as 2.6 ± 0.3 mm", "write the middle of the limits ± half their distance")
	}
	if dim == Force && (text == "lb" || text == "lbs" || text == "kg" || text == "g" || text == "oz") {
		hint := "for a force write lbf"
		if text == "kg" || text == "g" {
			hint = "for a force write N, or kgf"
		}
		return rest.wrong(RuleDimension, rest.quote()+", a unit of mass", acceptDim(dim), hint)
	}
	if others := otherDimensions(text); len(others) > 0 {
		names := make([]string, len(others))
		for i, d := range others {
			names[i] = d.String()
		}
		return rest.wrong(RuleDimension, fmt.Sprintf("%s, a unit of %s", rest.quote(), strings.Join(names, " or ")), acceptDim(dim), "")
	}
	hint, key := "", squeeze(text)
	same := func(name string) bool { return strings.EqualFold(name, key) }
	for i := range unitTable {
		u := &unitTable[i]
		if u.dim == dim && slices.ContainsFunc(u.names, same) {
			hint = fmt.Sprintf("did you mean %q? Capitals count in units", u.String())
			break
		}
	}
	for i, c := range rest.runes {
		if hint == "" && isDigit(c) && i > 0 {
			hint = "write one number with one unit"
		}
	}
	return rest.wrong(RuleUnknownUnit, rest.quote()+", which is no unit known here", acceptDim(dim), hint)
}

// acceptDim says in a few words what a text for dim may be.
func acceptDim(dim Dimension) string {
	switch dim {
	case Number:
		return "a plain number, or one with %"
	case Length:
		return "a length in " + orList(Accepted(dim)) + ", a drill (#30, letter F) or a gauge (16 swg)"
	}
	article := "a "
	if strings.ContainsRune("aeiou", rune(dim.String()[0])) {
		article = "an "
	}
	return article + dim.String() + " in " + orList(Accepted(dim))
}

func orList(s []string) string {
	if len(s) == 1 {
		return s[0]
	}
	return strings.Join(s[:len(s)-1], ", ") + " or " + s[len(s)-1]
}

const (
	absoluteZero = -273.15 // °C
	lastBits     = 1e-9    // °C: -459.67 °F is absolute zero but for the last bits
)

func checkValue(q Quantity, w piece) *ParseError {
	if q.Dim != Temperature {
		return nil
	}
	low := q.Value - q.Half
	for _, r := range q.Readings {
		low = min(low, r)
	}
	if low < absoluteZero-lastBits {
		return w.wrong(RuleAbsoluteZero, w.quote(), "a temperature from -273.15 °C up", "check the sign and the unit")
	}
	return nil
}
