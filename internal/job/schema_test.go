package job

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

const schemaFile = "../../docs/job.schema.json"

func compileSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("urn:panelwright:job:1", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("urn:panelwright:job:1")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// decode reads YAML as any other program would, without our reader.
func decode(text []byte) (v any, err error) {
	defer func() {
		if p := recover(); p != nil { // the library's decoder has crashed on odd input before
			err = fmt.Errorf("yaml: %v", p)
		}
	}()
	err = yaml.Unmarshal(text, &v)
	return v, err
}

func exampleFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../../examples/*/job.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("%d examples, %v: want at least 3", len(files), err)
	}
	return files
}

// The examples have no faults and fit the published schema.
func TestExamplesFitSchema(t *testing.T) {
	s := compileSchema(t)
	for _, file := range exampleFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if _, faults := Read(file, text, noFiles); len(faults) > 0 {
			t.Errorf("%v", faults)
		}
		v, err := decode(text)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(v); err != nil {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// meaningOnly are the rules that a schema cannot know: they judge values, units, places and names.
var meaningOnly = []string{
	RulePositive, RuleOutOfRange, RuleSpread, RuleDuplicateName, RuleUnknownMaterial, RuleNoMaterial, RuleSealStiffness, RuleDrillRepeated,
	RuleRangeFile, RuleTemperatureOrder, RulePitchOrder, RuleOutlineArea, RuleOutlineCrosses, RulePointRepeated,
	RuleCornerRadius, RuleCurve, RuleOffsets, RuleEdgeCount, RuleUnknownEdge, RuleUnknownCorner, RuleLengthTwice, RuleEdgeLength, RuleSurveyLoose, RuleSurveyMisfit, RuleShape, RuleCutOutOutside, RuleCutOutMeets,
	RuleCutOutOverlap, RuleKeepOutOutside, RuleKeepOutWhole, RuleEdgeTwice, RuleFlangeWide, RuleInset, RuleSeatCutOut, RuleRibOutside, RuleWeld,
	RuleMassOutside, RuleStationOutside, RuleStationCutOut, RuleStationTwice, RuleStationTape, RuleUnknownStation,
	RuleMeasuredTwice, RuleNoUncertainty, RuleDate, RuleRecordAddress, RuleOutlineFile, "no-spread", "text-characters",
	"quantity", "missing-unit", "unknown-unit", "wrong-dimension", "decimal-comma", "thousands", "ambiguous-gauge",
	"unknown-gauge", "unknown-drill", "one-reading", "limits", "too-long", "too-large", "below-absolute-zero",
	// YAML that other programs may read, and we do not:
	"anchor", "tag", "encoding", "one-document",
}

// Every bad job file whose fault is one of structure is refused by the schema too, or is no YAML at all.
func TestFaultsFailSchema(t *testing.T) {
	s := compileSchema(t)
	rules := emitted(t)
	structural := 0
	for _, file := range faultFiles(t) {
		rule := ruleOf(file, rules)
		if slices.Contains(meaningOnly, rule) || strings.HasSuffix(file, "too-many-stations.yaml") { // that count is computed
			continue
		}
		structural++
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if v, err := decode(text); err == nil && s.Validate(v) == nil {
			t.Errorf("%s fits the schema", file)
		}
	}
	if structural < 15 {
		t.Errorf("only %d files of structure", structural)
	}
}

var indexes = regexp.MustCompile(`\[\d+\]`)

// readerKeys lists the keys that the reader accepts in each group of every-key.yaml: a key that nobody can know, put into
// each group, makes the reader list those it knows.
func readerKeys(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile("testdata/every-key.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, faults := Read("every-key.yaml", text, noFiles)
	keys := map[string][]string{}
	for _, f := range faults {
		if f.Rule != "unknown-key" {
			continue
		}
		list, ok := strings.CutPrefix(f.Hint, "known here: ")
		if !ok {
			t.Errorf("no list of known keys: %v", f)
			continue
		}
		path := strings.TrimSuffix(indexes.ReplaceAllString(f.Path, "[]"), "qqqqqqqqqqqq")
		known := strings.Split(list, ", ")
		slices.Sort(known)
		keys[strings.TrimSuffix(path, ".")] = known
	}
	return keys
}

// schemaKeys walks the schema and lists the keys of each group under the paths of readerKeys.
func schemaKeys(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	var root map[string]any
	if err := json.Unmarshal(text, &root); err != nil {
		t.Fatal(err)
	}
	keys := map[string][]string{}
	walkSchema(root, root, "", keys, 0)
	return keys
}

func walkSchema(root, s map[string]any, path string, keys map[string][]string, depth int) {
	if depth > 40 {
		panic("job: the schema goes round in circles")
	}
	if ref, ok := s["$ref"].(string); ok {
		at := root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		walkSchema(root, at, path, keys, depth+1)
	}
	if props, ok := s["properties"].(map[string]any); ok {
		var names []string
		for name, p := range props {
			names = append(names, name)
			below := name
			if path != "" {
				below = path + "." + name
			}
			walkSchema(root, p.(map[string]any), below, keys, depth+1)
		}
		slices.Sort(names)
		keys[path] = names
	}
	if items, ok := s["items"].(map[string]any); ok {
		walkSchema(root, items, path+"[]", keys, depth+1)
	}
	if choices, ok := s["anyOf"].([]any); ok {
		for _, a := range choices {
			walkSchema(root, a.(map[string]any), path, keys, depth+1)
		}
	}
}

// The reader and the schema know the same keys, group by group.
func TestSchemaKeys(t *testing.T) {
	reader, schema := readerKeys(t), schemaKeys(t)
	if len(reader) < 30 {
		t.Errorf("only %d groups read", len(reader))
	}
	for path, known := range reader {
		if !slices.Equal(known, schema[path]) {
			t.Errorf("%q: the reader knows %v, the schema %v", path, known, schema[path])
		}
	}
	for path := range schema {
		if reader[path] == nil {
			t.Errorf("%q: in the schema; every-key.yaml has no such group", path)
		}
	}
}
