package stock

import (
	"strings"
	"testing"
)

// tiny is a whole range as a user would write it: two parts by geometry, a pair by bands.
const tiny = `range:
  id: shop
  name: Our own parts
  currency: EUR
rivets:
  - { id: r3, name: rivet, head: dome, diameter: 3.2, hole: [3.3, 3.4], head diameter: 6.5, grip: [1, 4], cost: 0.1 }
shims:
  - { id: washer, name: washer, thickness: 0.5 ± 0.05 }
plates:
  - { id: p, name: plate, face: outside, thickness: 1.5, length: 40, width: 18, rivet holes: [{at: [-14, 0], diameter: 3.3}, {at: [14, 0], diameter: 3.3}], rivets: [r3] }
receptacles:
  - { id: c, name: box, family: box, stud families: [st], mount: behind, fixing: welded, depth: 5 ± 0.1, rate: 80 N/mm, deflection limit: 3, length: 40, width: 16, shims: [washer] }
  - { id: d, name: box, family: box, stud families: [st], mount: behind, fixing: welded, length: 40, width: 16 }
studs:
  - { id: s, name: stud, family: st, head: raised, drive: hand, plates: [p], reaches: [10 ± 0.1, 10.6 ± 0.1], shank: 8, head diameter: 16, cam lift: 3, crest: 0.4 }
  - { id: t, name: stud, family: st, head: raised, drive: hand, plates: [p], shank: 8, head diameter: 16, cam lift: 3, crest: 0.4 }
bands:
  - { stud: t, receptacle: d, stacks: [4, 5.5] }
`

func TestReadRange(t *testing.T) {
	r, faults := ReadRange("shop.yaml", []byte(tiny))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	s, ok := r.StudByID("s-10.6")
	if !ok || s.Reach != (Toleranced{10.6, 0.1}) || s.Status != "user" || s.Name != "stud, reach 10.60 mm" {
		t.Errorf("%+v", s)
	}
	c, _ := r.ReceptacleByID("c")
	d, _ := r.ReceptacleByID("d")
	by, _ := r.StudByID("t")
	if !HasGeometry(s, c) || HasGeometry(by, d) || HasGeometry(s, d) {
		t.Error("geometry")
	}
	if b := r.BandsFor("t", "p", "d"); len(b) != 1 || b[0].String() != "4.00 mm to 5.50 mm" || b[0].Pos.Line != 18 {
		t.Errorf("%+v", b)
	}
	if v, ok := r.RivetByID("r3"); !ok || v.GripMax != 4 || v.PackSize != 1 {
		t.Errorf("%+v", v)
	}
	if v, ok := r.ShimByID("washer"); !ok || v.Thickness.Tol != 0.05 {
		t.Errorf("%+v", v)
	}
	if p, ok := r.PlateByID("p"); !ok || len(p.Rivets) != 2 || p.Rivets[1].At.X != 14 {
		t.Errorf("%+v", p)
	}
	if _, ok := r.PlateByID("q"); ok {
		t.Error("q is known")
	}
	inches, faults := ReadRange("shop.yaml", []byte(strings.NewReplacer("currency: EUR", "currency: EUR\n  units: inch", "length: 40", "length: 4").Replace(tiny)))
	if len(faults) > 0 || inches.Plates[0].Length != 4*inch {
		t.Errorf("in inches: %v %v", faults, inches)
	}
}

// Each change of the tiny range breaks one rule; the whole message is expected.
func TestRangeFaults(t *testing.T) {
	for _, c := range []struct{ rule, old, new, want string }{
		{"unknown key", "drive: hand, plates: [p], reaches", "drvie: hand, drive: hand, plates: [p], reaches", `shop.yaml:15:52: studs[1].drvie: no key "drvie" is known here (rule unknown-key); did you mean "drive"?`},
		{"id twice", "id: washer", "id: r3", `shop.yaml:8:11: shims[1].id: "r3" stands already at shop.yaml:6:11; accepted: each id once (rule unique-id); give it another id`},
		{"plate exists", "plates: [p], reaches", "plates: [q], reaches", `studs[1].plates: "q"; accepted: a plate of this range (rule unknown-plate)`},
		{"rivet exists", "rivets: [r3]", "rivets: [r4]", `plates[1].rivets: "r4"; accepted: a rivet of this range (rule unknown-rivet); did you mean "r3"?`},
		{"shim exists", "shims: [washer]", "shims: [wascher]", `receptacles[1].shims: "wascher"; accepted: a shim of this range (rule unknown-shim); did you mean "washer"?`},
		{"stud family exists", "stud families: [st], mount: behind, fixing: welded, depth", "stud families: [st, su], mount: behind, fixing: welded, depth", `receptacles[1].stud families: "su"; accepted: a stud family of this range (rule unknown-stud-family); did you mean "st"?`},
		{"material exists", "drive: hand, plates: [p], reaches", "drive: hand, material: ss340, plates: [p], reaches", `"ss340"; accepted: an embedded material or one of this range (rule unknown-material); did you mean "ss304"?`},
		{"reach above 0", "reaches: [10 ± 0.1, 10.6", "reaches: [-1 ± 0.1, 10.6", `studs[1].reaches: reach -1.00 mm of s--1.0; accepted: more than 0 (rule positive)`},
		{"reaches rise", "reaches: [10 ± 0.1, 10.6", "reaches: [11 ± 0.1, 10.6", `studs[1].reaches: 10.60 mm after 11.00 mm; accepted: reaches that rise (rule ascending)`},
		{"rate above 0", "rate: 80 N/mm", "rate: 80 ± 80 N/mm", `(rule positive)`},
		{"rate has a unit", "rate: 80 N/mm", "rate: 80", `(rule missing-unit)`},
		{"rate beside depth", "rate: 80 N/mm, ", "", `receptacles[1].rate: rate is missing beside a depth; accepted: a rate in N/mm (rule missing-key); leave both out when the range states bands alone`},
		{"depth beside rate", "depth: 5 ± 0.1, ", "", `receptacles[1].depth: depth is missing beside a rate`},
		{"no readings", "depth: 5 ± 0.1", "depth: 'readings [5, 5.1]'", `(rule no-readings)`},
		{"wire limit", "deflection limit: 3,", "deflection limit: 0.3,", `receptacles[1].deflection limit: 0.30 mm, and the studs of st have a crest of 0.40 mm; accepted: a limit above the crest (rule wire-limit)`},
		{"cam lift", "reaches: [10 ± 0.1, 10.6 ± 0.1], shank: 8, head diameter: 16, cam lift: 3", "reaches: [10 ± 0.1, 10.6 ± 0.1], shank: 8, head diameter: 16, cam lift: 0.3", `studs[1].cam lift: 0.30 mm with a crest of 0.40 mm; accepted: a lift of more than the crest (rule cam-lift)`},
		{"hole larger than rivet", "{at: [14, 0], diameter: 3.3}", "{at: [14, 0], diameter: 3.2}", `plates[1].rivet holes: hole 2 of p, 3.20 mm, for r3 of 3.20 mm; accepted: a hole larger than the rivet (rule hole-size)`},
		{"rivet in its hole", "hole: [3.3, 3.4]", "hole: [3.1, 3.4]", `rivets[1].hole: 3.10 mm for a rivet of 3.20 mm; accepted: a hole no smaller than the rivet (rule hole-size)`},
		{"holes apart", "{at: [14, 0], diameter: 3.3}", "{at: [-12, 0], diameter: 3.3}", `(rule holes-run-together)`},
		{"seats want sunk heads", "rivets: [r3]", "rivets: [r3], countersink: 120 deg", `plates[1].rivets: r3 has a dome head, p has seats of 120° (rule countersink-angle)`},
		{"angle of sunk heads", "head: dome", "head: countersunk", `rivets[1].countersink: countersink is missing for a countersunk head`},
		{"heads fit seats", "head: dome", "head: countersunk, countersink: 90 deg", `plates[1].rivets: r3 is countersunk, p has no seats for it (rule countersink-angle)`},
		{"sleeve in hole", "length: 40, width: 18", "length: 40, width: 18, sleeve: 12, centre hole: [11, 12]", `(rule sleeve-through-hole)`},
		{"span ordered", "grip: [1, 4]", "grip: [4, 1]", `rivets[1].grip: 4.00 mm to 1.00 mm; accepted: the least first, 0 or more (rule span)`},
		{"grip or grips", "grip: [1, 4]", "grip: [1, 4], grips: [[1, 2]]", `(rule one-of)`},
		{"currency", "  currency: EUR\n", "", `rivets[1].cost: a cost, and the range declares no currency (rule currency)`},
		{"welded has no rivets", "depth: 5 ± 0.1,", "depth: 5 ± 0.1, rivets: [r3],", `receptacles[1].fixing: welded, with rivets or rivet holes (rule fixing)`},
		{"idle shims", "mount: behind, fixing: welded, depth", "mount: front-under-panel, fixing: welded, depth", `receptacles[1].shims: shims under a receptacle that the panel itself rests on: they change nothing (rule idle-shim)`},
		{"shim thickness", "thickness: 0.5 ± 0.05", "thickness: 0.5 ± 0.5", `(rule positive)`},
		{"band's parts", "stud: t, receptacle: d", "stud: u, receptacle: d", `bands[1].stud: "u"; accepted: a stud of this range (rule unknown-stud)`},
		{"band ordered", "stacks: [4, 5.5]", "stacks: [5.5, 4]", `bands[1].stacks: 5.50 mm to 4.00 mm; accepted: the least first, 0 or more (rule span)`},
		{"band once", "stacks: [4, 5.5] }\n", "stacks: [4, 5.5] }\n  - { stud: t, receptacle: d, stacks: [5, 6] }\n", `shop.yaml:19:5: bands[2]: t with d and 0 shims is stated already at shop.yaml:18:5 (rule unique-band); keep one of them`},
		{"band and list", "stacks: [4, 5.5] }\n", "stacks: [4, 5.5] }\n  - { stud: t, receptacle: d, single: 5 }\n", `bands[2]: stacks and a single thickness for t with d; accepted: one kind for a pair (rule mixed-bands)`},
		{"band's shims", "stacks: [4, 5.5]", "shims: 1, stacks: [4, 5.5]", `bands[1].shims: 1, and d takes no shims (rule pair)`},
		{"geometry or bands", "bands:\n  - { stud: t, receptacle: d, stacks: [4, 5.5] }\n", "", `studs[2].reach: t has no reach and stands in no band (rule geometry-or-bands); write reach, or reaches, or bands`},
		{"sample ids", "name: Our own parts", "name: Our own parts\n  sample: true", `range.id: "shop" in a sample range; accepted: an id that says sample (rule sample-id)`},
		{"area", "length: 40, width: 16, shims", "length: 40, width: 16, foot area: 180, shims", `receptacles[1].foot area: "180"; accepted: an area above 0 with its unit, as 180 mm² or 0.28 in² (rule area)`},
		{"no receptacle", "family: st, head: raised, drive: hand, plates: [p], reaches", "family: sx, head: raised, drive: hand, plates: [p], reaches", `studs[1].family: "sx", which no receptacle of this range takes (rule no-receptacle)`},
		{"id of a series", "10.6 ± 0.1]", "10 ± 0.1]", `shop.yaml:15:11: studs[1].id: "s-10.0" stands already at shop.yaml:15:11; accepted: each id once (rule unique-id)`},
		{"letters that print", "name: Our own parts", `name: "Our \u202eown parts"`, `range.name: a mark of the direction of writing (U+202E) in "Our \u202eown parts"; accepted: Latin, Greek and Cyrillic letters, figures, and usual signs (rule text-characters)`},
		{"letters of an id", "id: washer", "id: 座金", `shims[1].id: the character '座' (U+5EA7) in "座金"`},
		{"text length", "name: Our own parts", "name: " + strings.Repeat("our own ", 40), `range.name: 319 characters; accepted: at most 300 (rule text-length); shorten it`},
		{"sane length", "reaches: [10 ± 0.1, 10.6 ± 0.1]", "reaches: [10 ± 0.1, 10.6 m]", `studs[1].reaches: 10600.0 mm; accepted: at most 500.0 mm (rule out-of-range); check the value and its unit`},
		{"sane rate", "rate: 80 N/mm", "rate: 80000 N/mm", `receptacles[1].rate: 80000 N/mm; accepted: at most 10000 N/mm (rule out-of-range)`},
		{"sane limits", "depth: 5 ± 0.1", "depth: 5 ± 4", `receptacles[1].depth: 5.00 mm ± 4.00 mm; accepted: limits of less than half the value (rule spread); check the decimals`},
		{"other spelling", "rivets:\n", "materials:\n  - { id: ours, name: ours, family: steel, density: 7850 kg/m³, modulus: 210 GPa }\nrivets:\n", `materials[1].modulus: no key "modulus" is known here (rule unknown-key); did you mean "elastic modulus"?`},
		{"angle", "rivets: [r3]", "rivets: [r3], countersink: 190 deg", `plates[1].countersink: 190.0°; accepted: more than 0 and less than 180°, included (rule angle)`},
	} {
		text := strings.Replace(tiny, c.old, c.new, 1)
		if text == tiny {
			t.Errorf("%s: %q is not in the file", c.rule, c.old)
		}
		r, faults := ReadRange("shop.yaml", []byte(text))
		if r != nil || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%s: got\n%s\nwant\n%s", c.rule, faults.Error(), c.want)
		}
		for _, f := range faults {
			if f.Pos.Line == 0 {
				t.Errorf("%s: no place: %v", c.rule, f)
			}
		}
	}
}

// A countersunk rivet in seats of another angle is a fault of the part that names it; of the same angle it is none.
func TestRangeAngles(t *testing.T) {
	seats := strings.Replace(tiny, "rivets: [r3]", "rivets: [r3], countersink: 120 deg", 1)
	same := strings.Replace(seats, "head: dome", "head: countersunk, countersink: 120 deg", 1)
	if _, faults := ReadRange("shop.yaml", []byte(same)); len(faults) > 0 {
		t.Error(faults)
	}
	other := strings.Replace(seats, "head: dome", "head: countersunk, countersink: 100 deg", 1)
	want := `plates[1].rivets: r3 is countersunk 100°, the seats of p are 120°; accepted: the same angle (rule countersink-angle)`
	if _, faults := ReadRange("shop.yaml", []byte(other)); len(faults) != 1 || !strings.Contains(faults.Error(), want) {
		t.Errorf("got\n%s\nwant\n%s", faults.Error(), want)
	}
}

// Five faults in five rows: all are found at once, in the order of the file.
func TestRangeAllFaultsAtOnce(t *testing.T) {
	text := tiny
	for _, c := range [][2]string{{"hole: [3.3, 3.4]", "hole: [3.1, 3.4]"}, {"0.5 ± 0.05", "-1"}, {"face: outside", "face: outsied"},
		{"mount: behind, fixing: welded, depth", "mount: behind, fixing: glued, depth"}, {"crest: 0.4 }\n  - { id: t", "crest: 4 }\n  - { id: t"}, {"stacks: [4, 5.5]", "stack: [4, 5.5]"}} {
		if !strings.Contains(text, c[0]) {
			t.Fatal(c[0])
		}
		text = strings.Replace(text, c[0], c[1], 1)
	}
	_, faults := ReadRange("shop.yaml", []byte(text))
	line := 0
	rules := map[string]bool{}
	for _, f := range faults {
		if f.Pos.Line < line {
			t.Errorf("out of order: %v", f)
		}
		line = f.Pos.Line
		rules[f.Rule] = true
	}
	for _, want := range []string{"hole-size", "positive", "choice", "cam-lift", "wire-limit", "unknown-key", "missing-key"} {
		if !rules[want] {
			t.Errorf("no fault of rule %s in\n%s", want, faults.Error())
		}
	}
}

// A range beyond its bounds is refused before the work grows, whatever else is wrong in it.
func TestRangeSize(t *testing.T) {
	many := strings.Replace(tiny, "[10 ± 0.1, 10.6 ± 0.1]", "[1"+strings.Repeat(", 1", partsMost)+"]", 1)
	if _, faults := ReadRange("shop.yaml", []byte(many)); !strings.Contains(faults.Error(), "shop.yaml:1:1: studs: 2002 studs; accepted: at most 2000 (rule range-size); divide the range") {
		t.Errorf("%.500s", faults.Error())
	}
	holes := strings.Replace(tiny, "rivet holes: [", "rivet holes: ["+strings.Repeat("{at: [0, 0], diameter: 1}, ", holesMost), 1)
	if _, faults := ReadRange("shop.yaml", []byte(holes)); !strings.Contains(faults.Error(), "plates[1].rivet holes: 26 holes; accepted: at most 24 (rule range-size)") {
		t.Errorf("%.500s", faults.Error())
	}
	names := strings.Replace(tiny, "plates: [p], reaches", "plates: [p"+strings.Repeat(", q", 200)+"], reaches", 1)
	if _, faults := ReadRange("shop.yaml", []byte(names)); len(faults) != 200 {
		t.Errorf("%d faults for 200 unknown plates", len(faults))
	}
}

// The reader neither crashes nor accepts a range whose promises do not hold.
func FuzzReadRange(f *testing.F) {
	f.Add(SampleText())
	f.Add([]byte(tiny))
	f.Add([]byte("range: {id: a, name: b}\nplates: []\nreceptacles: []\nstuds: []\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, faults := ReadRange("fuzz.yaml", text)
		if (r == nil) != (len(faults) > 0) {
			t.Fatalf("a range %v with %d faults", r != nil, len(faults))
		}
		if r == nil {
			return
		}
		ids := map[string]bool{}
		for _, s := range r.Studs {
			if ids[s.ID] || s.ID == "" || s.Reach.Nom < 0 || len(s.PlateIDs) == 0 {
				t.Fatalf("stud %+v", s)
			}
			ids[s.ID] = true
			for _, p := range s.PlateIDs {
				if _, ok := r.PlateByID(p); !ok {
					t.Fatalf("plate %q of %s", p, s.ID)
				}
			}
		}
		for _, c := range r.Receptacles {
			if ids[c.ID] || c.Rate.Nom < 0 || c.Rate.Nom > 0 && c.Rate.Nom-c.Rate.Tol <= 0 {
				t.Fatalf("receptacle %+v", c)
			}
			ids[c.ID] = true
		}
		for _, b := range r.Bands {
			if b.From > b.To || b.Single < 0 || b.Single == 0 && b.To <= 0 {
				t.Fatalf("band %+v", b)
			}
		}
	})
}

func BenchmarkReadSample(b *testing.B) {
	text := SampleText()
	for b.Loop() {
		if _, faults := ReadRange(SampleFile, text); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// Whatever stands in place of a value, a message repeats at most 40 characters of it.
func TestRangeMessagesCut(t *testing.T) {
	long := strings.Repeat("zq", 140)
	lines, seen := strings.Split(tiny, "\n"), 0
	for i, line := range lines {
		for at := range line {
			if !strings.HasPrefix(line[at:], ": ") {
				continue
			}
			for _, bad := range []string{long, "[" + long + "]", `"7 ` + long + `"`} {
				end := at + 2 + strings.IndexAny(line[at+2:]+",", ",]}")
				lines[i] = line[:at+2] + bad + line[end:]
				_, faults := ReadRange("shop.yaml", []byte(strings.Join(lines, "\n")))
				for _, f := range faults {
					seen++
					if strings.Contains(f.Error(), long[:80]) {
						t.Fatalf("line %d: %.400s", i+1, f.Error())
					}
				}
			}
		}
		lines[i] = line
	}
	if seen < 150 {
		t.Errorf("only %d messages", seen)
	}
}
