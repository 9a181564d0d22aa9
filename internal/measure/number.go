package measure

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// piece is a part of the text that knows where it began. Its runes are the text's own, one for one, in their plain form.
type piece struct {
	runes []rune
	base  int // rune offset in the whole text
}

// normal brings the many minus signs, spaces and marks to one each, rune for rune, so that offsets stay true.
func normal(text string) []rune {
	r := []rune(text)
	for i, c := range r {
		switch c {
		case '−', '–', '‐', '‑', '‒', '﹣', '－':
			r[i] = '-'
		case '\u00a0', '\u2007', '\u2009', '\u202f', '\t', '\n', '\r':
			r[i] = ' '
		case '⁄', '∕':
			r[i] = '/'
		case '″', '”', '“':
			r[i] = '"'
		case '′', '’', '‘':
			r[i] = '\''
		}
	}
	return r
}

func (w piece) String() string { return string(w.runes) }

// quote shows the piece in a message, shortened when it is long.
func (w piece) quote() string {
	const most = 40
	s, tail := w.runes, ""
	if len(s) > most {
		s, tail = s[:most], "…"
	}
	return `"` + plainRunes(s) + `"` + tail
}

// plainRunes leaves the inch mark as it is written, and writes what does not print as its code.
func plainRunes(r []rune) string {
	q := strconv.Quote(string(r))
	return strings.ReplaceAll(strings.ReplaceAll(q[1:len(q)-1], `\"`, `"`), `\\`, `\`)
}

func (w piece) part(from, to int) piece {
	return piece{runes: w.runes[from:to], base: w.base + from}
}

func (w piece) trim() piece {
	from, to := 0, len(w.runes)
	for from < to && w.runes[from] == ' ' {
		from++
	}
	for to > from && w.runes[to-1] == ' ' {
		to--
	}
	return w.part(from, to)
}

func (w piece) wrong(rule, found, accept, hint string) *ParseError {
	return &ParseError{Rule: rule, Offset: w.base, Found: found, Accept: accept, Hint: hint}
}

func (w piece) startsWithWord(word string) bool {
	n := len(word) // ASCII words only
	if len(w.runes) < n || !strings.EqualFold(string(w.runes[:n]), word) {
		return false
	}
	return len(w.runes) == n || !isLetter(w.runes[n])
}

// plusMinus finds ±, +/- or +-; at is -1 when there is none.
func (w piece) plusMinus() (at, width int) {
	for i, c := range w.runes {
		if c == '±' {
			return i, 1
		}
		if c != '+' {
			continue
		}
		if next := string(w.runes[i:min(len(w.runes), i+3)]); next == "+/-" {
			return i, 3
		} else if strings.HasPrefix(next, "+-") {
			return i, 2
		}
	}
	return -1, 0
}

func isDigit(c rune) bool { return c >= '0' && c <= '9' }

func isLetter(c rune) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// digits gives the end of the run of digits that starts at i, never beyond the piece.
func (w piece) digits(i int) int {
	i = min(i, len(w.runes))
	for i < len(w.runes) && isDigit(w.runes[i]) {
		i++
	}
	return i
}

func (w piece) at(i int) rune {
	if i < 0 || i >= len(w.runes) {
		return 0
	}
	return w.runes[i]
}

var glyphs = map[rune]string{
	'½': "1/2", '¼': "1/4", '¾': "3/4", '⅓': "1/3", '⅔': "2/3", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8",
}

func fractionGlyph(c rune) *big.Rat {
	if s, ok := glyphs[c]; ok {
		return rat(s)
	}
	return nil
}

// number reads a sign and a number at the start of the piece: 4.3, .5, 12e-6, 3/32, 1-3/16, 1 3/16, 1½. Only digits, the
// point, the slash and the exponent's sign ever reach the exact arithmetic, and each is bounded. used counts runes.
func (w piece) number(dim Dimension) (v *big.Rat, used int, err *ParseError) {
	i, negative := 0, false
	if c := w.at(0); c == '-' || c == '+' {
		negative = c == '-'
		i = 1
	}
	if g := fractionGlyph(w.at(i)); g != nil {
		v, used = g, i+1
	} else if v, used, err = w.unsigned(i, dim); err != nil {
		return nil, 0, err
	}
	if c := w.at(used); isDigit(c) || c == '.' && isDigit(w.at(used+1)) || c == '/' && (isDigit(w.at(used+1)) || w.at(used+1) == 0) {
		return nil, 0, w.wrong(RuleQuantity, w.quote(), "one number, as 4.3 or 3/32 or 1-3/16", "write one number")
	}
	if v.Cmp(maxWritten) > 0 {
		return nil, 0, w.wrong(RuleTooLarge, w.quote(), "at most 1 000 000 000 000 in the unit that is written", "check the digits")
	}
	if negative {
		v = new(big.Rat).Neg(v)
	}
	return v, used, nil
}

func (w piece) unsigned(i int, dim Dimension) (*big.Rat, int, *ParseError) {
	whole := w.digits(i)
	end := whole
	if w.at(end) == '.' {
		end = w.digits(end + 1)
	}
	if end == i || end == i+1 && w.at(i) == '.' {
		return nil, 0, w.wrong(RuleQuantity, w.quote(), acceptDim(dim), notANumberHint(w))
	}
	if end-i > maxDigits {
		return nil, 0, w.wrong(RuleTooLong, fmt.Sprintf("a number of %d digits", end-i), fmt.Sprintf("at most %d digits", maxDigits), "round it")
	}
	if err := w.marks(i, whole, end); err != nil {
		return nil, 0, err
	}
	if end == whole {
		if g := fractionGlyph(w.at(end)); g != nil {
			return g.Add(g, w.rat(i, whole)), end + 1, nil
		}
		if w.at(end) == '/' && isDigit(w.at(end+1)) {
			return w.fraction(i)
		}
		if c := w.at(end); (c == '-' || c == ' ') && isDigit(w.at(end+1)) {
			return w.mixed(i, end)
		}
	}
	if w.at(end) == '/' && isDigit(w.at(end+1)) {
		return nil, 0, w.wrong(RuleQuantity, w.quote(), "fractions of whole numbers, as 3/32", "write a decimal number")
	}
	v := w.rat(i, end)
	if next, scale, err := w.exponent(end); err != nil {
		return nil, 0, err
	} else if scale != nil {
		return v.Mul(v, scale), next, nil
	}
	return v, end, nil
}

// marks refuses decimal commas and thousands marks after the digits i:whole and the decimals whole:end.
func (w piece) marks(i, whole, end int) *ParseError {
	c, after := w.at(end), w.digits(end+1)
	group := after-end-1 == 3
	text := w.part(i, max(after, end)).String()
	switch {
	case c == ',' && isDigit(w.at(end+1)):
		if end > whole || w.at(after) == ',' || w.at(after) == '.' { // 1.200,5 and 1,200,000 and 1,200.5
			return w.wrong(RuleThousands, w.quote(), "digits with at most one point", "leave thousands marks out and write a point before the decimals")
		}
		point := strings.Replace(text, ",", ".", 1)
		if group && whole-i <= 3 && w.at(i) != '0' {
			return w.wrong(RuleComma, w.quote()+" (a comma may mean decimals or thousands)", "a point before the decimals",
				fmt.Sprintf("write %s or %s", point, strings.Replace(text, ",", "", 1)))
		}
		return w.wrong(RuleComma, w.quote(), "a point before the decimals", "write "+point)
	case c == ',' && (w.at(end+1) == 0 || w.at(end+1) == ' '):
		return w.wrong(RuleQuantity, w.quote(), "one number with its unit", "leave the comma out")
	case c == '.' && isDigit(w.at(end+1)), c == '_' && isDigit(w.at(end+1)):
		return w.wrong(RuleThousands, w.quote(), "digits with at most one point", "leave thousands marks out")
	case (c == ' ' || c == '\'') && group && w.at(after) != '/' && !isDigit(w.at(after)):
		if c == '\'' && w.at(after) == '"' {
			return nil
		}
		mark := text[:end-i] + text[end-i+1:]
		return w.wrong(RuleThousands, w.quote(), "digits without thousands marks", "write "+mark)
	}
	return nil
}

// fraction reads n/d at i; mixed reads w-n/d or w n/d with the whole part at i and the joint at gap.
func (w piece) fraction(i int) (*big.Rat, int, *ParseError) {
	slash := w.digits(i)
	end := w.digits(slash + 1)
	if end-i > maxDigits {
		return nil, 0, w.wrong(RuleTooLong, fmt.Sprintf("a fraction of %d digits", end-i-1), fmt.Sprintf("at most %d", maxDigits-1), "write a decimal number")
	}
	n, d := w.rat(i, slash), w.rat(slash+1, end)
	if d.Sign() == 0 {
		return nil, 0, w.wrong(RuleQuantity, "division by nought in "+w.quote(), "a fraction such as 3/32", "write the figure below the line")
	}
	return n.Quo(n, d), end, nil
}

func (w piece) mixed(i, gap int) (*big.Rat, int, *ParseError) {
	slash := w.digits(gap + 1)
	if w.at(slash) != '/' || !isDigit(w.at(slash+1)) {
		if w.at(gap) == '-' {
			return nil, 0, w.wrong(RuleQuantity, w.quote(), "one number, as 4.3 or 1-3/16; not a range", "write one value, or limits as 2.6 ± 0.3 mm")
		}
		return nil, 0, w.wrong(RuleQuantity, "two numbers in "+w.quote(), "one number, as 4.3 or 1-3/16", "write one number with its unit")
	}
	f, end, err := w.fraction(gap + 1)
	if err != nil {
		return nil, 0, err
	}
	if f.Cmp(rat("1")) >= 0 {
		return nil, 0, w.wrong(RuleQuantity, w.quote(), "a fraction below 1 after the whole number", "check the fraction")
	}
	return f.Add(f, w.rat(i, gap)), end, nil
}

// exponent reads e-6 at i; scale is nil when there is none.
func (w piece) exponent(i int) (end int, scale *big.Rat, err *ParseError) {
	if c := w.at(i); c != 'e' && c != 'E' {
		return i, nil, nil
	}
	j := i + 1
	sign := w.at(j)
	if sign == '-' || sign == '+' {
		j++
	}
	end = w.digits(j)
	if end == j {
		return i, nil, nil
	}
	n := 0
	for _, c := range w.runes[j:end] {
		if n = 10*n + int(c-'0'); n > maxExponent {
			return 0, nil, w.wrong(RuleTooLarge, w.quote(), fmt.Sprintf("exponents from -%d to %d", maxExponent, maxExponent), "check the exponent")
		}
	}
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
	scale = new(big.Rat).SetInt(ten)
	if sign == '-' {
		scale.Inv(scale)
	}
	return end, scale, nil
}

// rat reads the digits and the point in i:end, which the caller has checked.
func (w piece) rat(i, end int) *big.Rat {
	s := strings.TrimSuffix(string(w.runes[i:end]), ".")
	if strings.HasPrefix(s, ".") {
		s = "0" + s
	}
	return rat(s)
}

func notANumberHint(w piece) string {
	switch {
	case len(w.runes) == 1 && isLetter(w.runes[0]):
		return "for a letter drill write letter " + strings.ToUpper(w.String())
	case w.at(0) == '~' || w.startsWithWord("about") || w.startsWithWord("approx"):
		return "say how far off it may be, as 2.6 ± 0.3 mm"
	case w.at(0) == '<' || w.at(0) == '>':
		return "write the limit itself as a number"
	case (w.at(0) == '-' || w.at(0) == '+') && w.at(1) == ' ':
		return "write the sign next to the number"
	}
	return "start with a number"
}
