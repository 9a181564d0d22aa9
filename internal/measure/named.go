package measure

import (
	"fmt"
	"strings"
)

// gaugeSystems are the systems that a bare "18 gauge" could mean, in the order in which a message lists them.
var gaugeSystems = []struct{ series, use string }{
	{"awg", "aluminium and brass"},
	{"msg", "bare steel sheet"},
	{"swg", "British sheet and wire"},
	{"stainless", "stainless sheet"},
	{"gsg", "galvanized sheet"},
}

// gaugeWords says which series a word beside a gauge number names; "" is a word that names none.
var gaugeWords = map[string]string{
	"swg": "swg", "iswg": "swg", "awg": "awg", "msg": "msg", "gsg": "gsg",
	"stainless": "stainless", "galvanized": "gsg", "galvanised": "gsg", "galv": "gsg",
	"ga": "", "gauge": "", "gage": "", "g": "",
	"steel": "", "sheet": "", "wire": "", "aluminium": "", "aluminum": "", "brass": "", "copper": "",
}

// readNamed reads a drill or gauge name; is says whether the text is meant as one.
func (p Parser) readNamed(w piece) (a amount, is bool, err *ParseError) {
	if len(w.runes) == 0 {
		return a, false, nil
	}
	if w.runes[0] == '#' {
		return p.drill(w, "number", w.part(1, len(w.runes)))
	}
	for _, word := range []string{"number", "num", "no.", "no", "nr.", "nr"} {
		if w.startsWithWord(word) {
			return p.drill(w, "number", w.part(len(word), len(w.runes)))
		}
	}
	if w.startsWithWord("letter") {
		return p.drill(w, "letter", w.part(len("letter"), len(w.runes)))
	}
	return p.gauge(w)
}

func (p Parser) drill(w piece, series string, rest piece) (amount, bool, *ParseError) {
	name := strings.TrimSpace(strings.TrimSuffix(strings.ToUpper(rest.trim().String()), "DRILL"))
	name = strings.TrimSpace(strings.TrimPrefix(name, "#"))
	a, err := p.resolve(w, series, name)
	if err != nil {
		err.Rule = RuleUnknownDrill
		err.Accept = "number drills #1 to #80 and letter drills A to Z, as #30 or letter F"
		err.Hint = "write the diameter"
	}
	return a, true, err
}

func (p Parser) resolve(w piece, series, name string) (amount, *ParseError) {
	if p.Named == nil {
		return amount{}, w.wrong(RuleUnknownGauge, w.quote()+", and no table of drills and gauges is at hand", "a size in mm or in", "write the size")
	}
	mm, ok := 0.0, false
	if name != "" {
		mm, ok = p.Named(series, name)
	}
	if !ok {
		return amount{}, w.wrong(RuleUnknownGauge, w.quote()+", which no table here has", "", "write the thickness")
	}
	if !(mm > 0 && mm < 1000) { // no drill or sheet gauge comes near a metre
		panic(fmt.Sprintf("measure: Named(%q, %q) gave %g mm", series, name, mm))
	}
	return amount{named: true, mm: mm, at: w}, nil
}

// gauge reads 16 swg, swg 16, 16 ga stainless, 16 stainless steel gauge, and refuses 16 gauge.
func (p Parser) gauge(w piece) (a amount, is bool, err *ParseError) {
	number, words, ok := gaugeParts(w)
	if !ok {
		return a, false, nil
	}
	series, known := "", false
	for _, word := range words {
		s, isGaugeWord := gaugeWords[word]
		if !isGaugeWord {
			return a, false, nil
		}
		if s != "" || word == "ga" || word == "gauge" || word == "gage" || word == "g" {
			known = true
		}
		if s == "" || s == series {
			continue
		}
		if series != "" {
			return a, true, w.wrong(RuleAmbiguous, w.quote()+" names two systems", "one gauge system", "write one of "+series+" and "+s)
		}
		series = s
	}
	if !known {
		return a, false, nil
	}
	if series == "" {
		return a, true, w.wrong(RuleAmbiguous, w.quote()+" without its gauge system", "a gauge with its system: awg, msg, swg, stainless or gsg", p.meanings(number))
	}
	if a, err = p.resolve(w, series, number); err != nil && p.Named != nil {
		err.Accept = "a gauge number of that system, as 16 " + series
	}
	return a, true, err
}

// gaugeParts splits a text of one number, first or last, and words.
func gaugeParts(w piece) (number string, words []string, ok bool) {
	for i := 0; i < len(w.runes); {
		c, j := w.runes[i], i
		switch {
		case c == ' ' || c == '-' || c == '.':
			i++
			continue
		case isDigit(c):
			j = w.digits(i)
			if w.at(j) == '/' && w.at(j+1) == '0' { // 2/0
				j += 2
			}
			if number != "" {
				return "", nil, false
			}
			number = string(w.runes[i:j])
		case isLetter(c):
			for j < len(w.runes) && isLetter(w.runes[j]) {
				j++
			}
			words = append(words, strings.ToLower(string(w.runes[i:j])))
		default:
			return "", nil, false
		}
		i = j
	}
	return number, words, number != "" && len(words) > 0
}

// meanings lists what a bare gauge number could be.
func (p Parser) meanings(number string) string {
	var out []string
	for _, s := range gaugeSystems {
		if p.Named == nil {
			break
		}
		if mm, ok := p.Named(s.series, number); ok {
			out = append(out, fmt.Sprintf("%s %s = %s for %s", number, s.series, MMInch(mm), s.use))
		}
	}
	if len(out) == 0 {
		return "write the thickness"
	}
	return "write one of: " + strings.Join(out, ", ")
}
