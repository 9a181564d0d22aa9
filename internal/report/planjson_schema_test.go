package report

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"panelwright/internal/decided"
	"panelwright/internal/detail"
	"panelwright/internal/exampleplan"
	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/worked"
)

const planSchemaFile = "../../docs/plan.schema.json"

func planSchemaText(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile(planSchemaFile)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func compilePlanSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(planSchemaText(t)))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("urn:panelwright:plan:1", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("urn:panelwright:plan:1")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// planDocument is plan.json as a program that is not ours reads it.
func planDocument(t *testing.T, p *setout.Plan) map[string]any {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text(t, func(w io.Writer) error { return PlanJSON(w, p, "test") })))
	if err != nil {
		t.Fatal(err)
	}
	return doc.(map[string]any)
}

// asRead gives a hand-made plan what the reader and the count of the order always give: a paper, whole packs.
func asRead(p *setout.Plan) *setout.Plan {
	p.Job.Paper = "A4"
	setout.Order(p)
	return p
}

// schemaPlans are the examples; a hand-made lid of every mounting, among them some that fail; one where nothing fits; and one
// where nothing is known.
func schemaPlans(t *testing.T) map[string]*setout.Plan {
	t.Helper()
	plans := exampleplan.All(t, "../..")
	for _, v := range worked.Variants {
		j := worked.Job()
		v.Set(j)
		p := decided.Plan(j)
		detail.Holes(p)
		detail.Checks(p)
		setout.Finish(p)
		plans["worked: "+v.Name] = asRead(p)
	}
	none := asRead(settled())
	none.Judge = []setout.Finding{{Panel: "Lid", Station: "1", Check: "closes", Text: "the judge disagrees"}}
	pan := none.Panels[0]
	pan.Choices, pan.Holes, pan.Joins, pan.DropOn, none.Order = nil, nil, nil, nil, nil
	pan.Faults = []string{"nothing fits: 3.2 mm too tight"}
	for _, st := range pan.Stations {
		st.Choice, st.Close, st.Stack, st.Checks = nil, setout.Closing{}, setout.StackSum{}, nil
	}
	plans["nothing fits"] = none
	blank := asRead(settled())
	for _, st := range blank.Panels[0].Stations {
		nan := math.NaN()
		st.EdgeDistance, st.Edge = nan, ""
		st.Close.R, st.Close.H, st.Close.Z, st.Close.Delta, st.Close.Known = nan, nan, nan, nan, false
		st.Close.DeltaLo, st.Close.DeltaHi, st.Close.Preload = nan, math.Inf(1), nan
		st.Close.TurnTorque, st.Close.UnlockTorque = nan, nan
		st.Load = setout.StationLoad{Area: nan, Outward: math.Inf(-1), Inertia: nan, Air: nan, SealPush: nan, InPlane: nan}
	}
	plans["nothing known"] = blank
	plans["under load"], plans["under load, too far"] = asRead(borne(1)), asRead(borne(40))
	unasked := asRead(borne(1))
	unasked.Panels[0].Bearing = &setout.Bearing{Why: "the material's stiffness is not stated"}
	plans["under load, not known"] = unasked
	plans["by tape"], plans["by tape, unchecked"] = taped(t, tapedWrong), taped(t, tapedUnchecked)
	dark := asRead(borne(1))
	for i := range dark.Panels[0].Bearing.Cases {
		c, nan := &dark.Panels[0].Bearing.Cases[i], math.NaN()
		c.Load, c.Reaction, c.Balance, c.WMax, c.GapMax, c.Stress, c.GapSeam, c.Wire = nan, nan, nan, nan, math.Inf(1), nan, -1, nil
	}
	plans["under load, without numbers"] = dark
	return plans
}

// Whatever the plan says, plan.json fits its published schema.
func TestPlanFitsSchema(t *testing.T) {
	s := compilePlanSchema(t)
	plans := schemaPlans(t)
	if len(plans) < 15 {
		t.Errorf("only %d plans", len(plans))
	}
	for name, p := range plans {
		if err := s.Validate(planDocument(t, p)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The schema is no sieve: each change makes plan.json unfit.
func TestPlanSchemaRefuses(t *testing.T) {
	s := compilePlanSchema(t)
	panel := func(doc map[string]any) map[string]any { return doc["panels"].([]any)[0].(map[string]any) }
	station := func(doc map[string]any) map[string]any { return panel(doc)["stations"].([]any)[0].(map[string]any) }
	check := func(doc map[string]any) map[string]any { return station(doc)["checks"].([]any)[0].(map[string]any) }
	for name, spoil := range map[string]func(doc map[string]any){
		"a later format":         func(d map[string]any) { d["format"] = json.Number("2") },
		"an unknown key":         func(d map[string]any) { station(d)["colour"] = "red" },
		"a key left out":         func(d map[string]any) { delete(station(d), "x_mm") },
		"a fourth verdict":       func(d map[string]any) { check(d)["verdict"] = "perhaps" },
		"no verdict":             func(d map[string]any) { check(d)["verdict"] = nil },
		"a third sense":          func(d map[string]any) { check(d)["sense"] = "about" },
		"a number in words":      func(d map[string]any) { check(d)["value"] = "5.7 mm" },
		"a place that is null":   func(d map[string]any) { station(d)["y_mm"] = nil },
		"a list that is null":    func(d map[string]any) { panel(d)["holes"] = nil },
		"half a shim":            func(d map[string]any) { station(d)["shims"] = json.Number("0.5") },
		"a bearing left out":     func(d map[string]any) { delete(panel(d), "bearing") },
		"a stack that is no map": func(d map[string]any) { station(d)["stack"] = json.Number("5.7") },
	} {
		doc := planDocument(t, asRead(settled()))
		if err := s.Validate(doc); err != nil {
			t.Fatal(err)
		}
		spoil(doc)
		if s.Validate(doc) == nil {
			t.Errorf("%s fits the schema", name)
		}
	}
}

// schemaNode is as much of JSON Schema as plan.schema.json uses.
type schemaNode struct {
	Type        any                    `json:"type"`
	Description string                 `json:"description"`
	Properties  map[string]*schemaNode `json:"properties"`
	Required    []string               `json:"required"`
	Additional  *bool                  `json:"additionalProperties"`
	Ref         string                 `json:"$ref"`
	AnyOf       []*schemaNode          `json:"anyOf"`
	Items       *schemaNode            `json:"items"`
	Enum        []any                  `json:"enum"`
	Const       any                    `json:"const"`
	Defs        map[string]*schemaNode `json:"$defs"`
}

func planSchemaTree(t *testing.T) *schemaNode {
	t.Helper()
	var root schemaNode
	if err := json.Unmarshal(planSchemaText(t), &root); err != nil {
		t.Fatal(err)
	}
	return &root
}

// schemaWalk holds the schema beside the Go types that are written: same keys, same kinds, nothing optional.
type schemaWalk struct {
	t    *testing.T
	defs map[string]*schemaNode
	used map[string]bool
	keys int
}

func (w *schemaWalk) follow(n *schemaNode) *schemaNode {
	if n.Ref == "" {
		return n
	}
	name := strings.TrimPrefix(n.Ref, "#/$defs/")
	w.used[name] = true
	if w.defs[name] == nil {
		w.t.Fatalf("the schema has no %s", n.Ref)
	}
	return w.defs[name]
}

func (w *schemaWalk) object(path string, typ reflect.Type, n *schemaNode) {
	if n.Type != "object" || n.Additional == nil || *n.Additional || n.Description == "" {
		w.t.Errorf("%s: must be a described object without additional properties", path)
	}
	tags := map[string]bool{}
	for i := range typ.NumField() {
		f := typ.Field(i)
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if key == "" || options != "" {
			w.t.Errorf("%s: field %s has the tag %q; every key is always written, under a name of its own", path, f.Name, f.Tag)
			continue
		}
		tags[key] = true
		w.keys++
		p := n.Properties[key]
		switch {
		case p == nil:
			w.t.Errorf("%s.%s is written, and not in the schema", path, key)
			continue
		case strings.TrimSpace(p.Description) == "":
			w.t.Errorf("%s.%s is not described", path, key)
		case !slices.Contains(n.Required, key):
			w.t.Errorf("%s.%s is always written, and not required", path, key)
		}
		w.value(path+"."+key, f.Type, p)
	}
	for key := range n.Properties {
		if !tags[key] {
			w.t.Errorf("%s.%s is in the schema, and never written", path, key)
		}
	}
	if len(n.Required) != len(tags) {
		w.t.Errorf("%s: %d keys, %d required", path, len(tags), len(n.Required))
	}
}

func (w *schemaWalk) value(path string, typ reflect.Type, n *schemaNode) {
	want := map[reflect.Kind]string{reflect.String: "string", reflect.Bool: "boolean", reflect.Int: "integer", reflect.Float64: "number"}
	switch typ.Kind() {
	case reflect.Struct:
		w.object(path, typ, w.follow(n))
	case reflect.Slice:
		if n.Type != "array" || n.Items == nil {
			w.t.Errorf("%s: must be an array", path)
			return
		}
		w.value(path+"[]", typ.Elem(), n.Items)
	case reflect.Pointer:
		if typ.Elem().Kind() == reflect.Struct {
			if len(n.AnyOf) != 2 || n.AnyOf[1].Type != "null" {
				w.t.Errorf("%s: must be an object or null", path)
				return
			}
			w.value(path, typ.Elem(), n.AnyOf[0])
		} else if got := []any{want[typ.Elem().Kind()], "null"}; !reflect.DeepEqual(n.Type, any(got)) {
			w.t.Errorf("%s: type %v, want %v", path, n.Type, got)
		}
	default:
		if want[typ.Kind()] == "" || n.Type != want[typ.Kind()] {
			w.t.Errorf("%s: type %v, want %q", path, n.Type, want[typ.Kind()])
		}
	}
}

// The schema has the keys of the Go types that are written, with their kinds, and no others.
func TestPlanSchemaKeys(t *testing.T) {
	root := planSchemaTree(t)
	w := &schemaWalk{t: t, defs: root.Defs, used: map[string]bool{}}
	w.object("plan", reflect.TypeFor[jsonPlan](), root)
	for name := range root.Defs {
		if !w.used[name] {
			t.Errorf("nothing refers to $defs/%s", name)
		}
	}
	if w.keys < 150 {
		t.Errorf("only %d keys compared", w.keys)
	}
}

// unitWords are the ends of keys and the unit that the description must begin with.
var unitWords = []struct{ end, unit string }{
	{"_mm2", "mm²"}, {"_mm", "mm"}, {"_Nm", "N·m"}, {"_N", "N"}, {"_Pa", "Pa"}, {"_MPa", "MPa"}, {"_kg", "kg"}, {"_g", "g"}, {"_deg", "deg"}, {"_rpm", "rev/min"},
}

// Every number says what it is in: by the end of its key, and in its description.
func TestPlanSchemaUnits(t *testing.T) {
	root := planSchemaTree(t)
	plain := []string{"count ", "number ", "running number ", "index, ", "fraction ", "value in the unit beside it", "limit in the unit beside it", "cost "}
	n := 0
	groups := map[string]*schemaNode{"plan": root}
	for name, d := range root.Defs {
		groups[name] = d
	}
	for name, d := range groups {
		for key, p := range d.Properties {
			kinds, ok := p.Type.([]any)
			if !ok {
				kinds = []any{p.Type}
			}
			if !slices.Contains(kinds, any("number")) && !slices.Contains(kinds, any("integer")) {
				continue
			}
			n++
			good := false
			if i := slices.IndexFunc(unitWords, func(u struct{ end, unit string }) bool { return strings.HasSuffix(key, u.end) }); i >= 0 {
				rest, ok := strings.CutPrefix(p.Description, unitWords[i].unit)
				good = ok && (rest[0] == ' ' || rest[0] == ',')
			} else {
				good = slices.ContainsFunc(plain, func(w string) bool { return strings.HasPrefix(p.Description, w) })
			}
			if !good {
				t.Errorf("%s.%s: %q does not begin with what the number is in", name, key, p.Description)
			}
		}
	}
	if n < 50 {
		t.Errorf("only %d numbers", n)
	}
}

// The words that the schema lists are those of the code.
func TestPlanSchemaWords(t *testing.T) {
	root := planSchemaTree(t)
	words := func(group, key string) []any { return root.Defs[group].Properties[key].Enum }
	var verdicts, papers []any
	for _, v := range []setout.Verdict{setout.Holds, setout.DoesNotHold, setout.NotKnown} {
		verdicts = append(verdicts, v.String())
	}
	for _, p := range job.Papers {
		papers = append(papers, p)
	}
	for _, c := range []struct {
		group, key string
		want       []any
	}{
		{"check", "verdict", verdicts},
		{"check", "sense", []any{"at most", "at least", ""}},
		{"job", "paper", papers},
		{"survey_length", "verdict", []any{job.SurveyAgrees, job.SurveySuspect, job.SurveyOneOf, job.SurveyWaits, job.SurveyUnchecked}},
		{"hole", "stage", []any{float64(setout.StageOpen), float64(setout.StageCountersink), float64(setout.StageRelief)}},
	} {
		if got := words(c.group, c.key); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s.%s lists %v, the code has %v", c.group, c.key, got, c.want)
		}
	}
	if root.Properties["format"].Const != float64(planFormat) {
		t.Errorf("the schema is of format %v, the code of %d", root.Properties["format"].Const, planFormat)
	}
	for _, p := range []string{setout.PurposeCentre, setout.PurposePlateRivet, setout.PurposeReceptacleRivet, setout.PurposeRelief, setout.PurposeTailCountersink, setout.PurposeBody, setout.PurposeCutOut} {
		if d := root.Defs["hole"].Properties["purpose"].Description; !strings.Contains(d, p) {
			t.Errorf("hole.purpose: %q does not name %q", d, p)
		}
	}
}
