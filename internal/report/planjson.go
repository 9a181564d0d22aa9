package report

import (
	"encoding/json"
	"io"
	"math"

	"panelwright/internal/setout"
)

// planFormat is raised when a key of plan.json changes its meaning or goes away; new keys do not raise it.
const planFormat = 1

// PlanJSON writes the plan for other programs. Every number has its unit in its key, or a "unit" beside it; what is not
// known is null. docs/plan.schema.json describes it.
func PlanJSON(w io.Writer, p *setout.Plan, version string) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(jsonPlanOf(p, version))
}

type jsonPlan struct {
	Format      int              `json:"format"`
	Program     string           `json:"program"`
	Scope       string           `json:"scope"`
	Job         jsonJob          `json:"job"`
	Tally       jsonTally        `json:"tally"`
	Panels      []jsonPanel      `json:"panels"`
	Order       []jsonOrder      `json:"order"`
	Assumptions []jsonAssumption `json:"assumptions"`
	Cautions    []jsonCaution    `json:"cautions"`
	Faults      []jsonPlanFault  `json:"faults"`
	History     []string         `json:"history"`
}

// Scope stand on everything that we hand out.
const Scope = "A planning aid, no approval. Not for aircraft, structural, occupant-restraint or fuel-containing joints. " +
	"Local rules, the series' or road regulations and licensed practice come first."

type jsonJob struct {
	Name   string   `json:"name"`
	File   string   `json:"file"`
	Date   string   `json:"date"`
	Sample bool     `json:"sample"`
	Paper  string   `json:"paper"`
	Range  string   `json:"range"`
	Notes  []string `json:"notes"`
}

type jsonTally struct {
	Holds    int `json:"holds"`
	Fails    int `json:"does_not_hold"`
	NotKnown int `json:"not_known"`
	Doubtful int `json:"not_known_beyond_limit_by_estimate"`
}

type jsonPanel struct {
	Name     string        `json:"name"`
	ID       string        `json:"id"`
	Quantity int           `json:"quantity"`
	AreaMM2  float64       `json:"area_mm2"`
	Load     jsonLoad      `json:"load"`
	Choices  []jsonChoice  `json:"choices"`
	Stations []jsonStation `json:"stations"`
	Checks   []jsonCheck   `json:"checks"`
	Holes    []jsonHole    `json:"holes"`
	DropOn   *jsonDropOn   `json:"drop_on"`
	Bearing  *jsonBearing  `json:"bearing"`
	Survey   *jsonSurvey   `json:"survey"`
	Imported *jsonImported `json:"imported"`
	Cautions []string      `json:"cautions"`
	Faults   []string      `json:"faults"`
}

type jsonLoad struct {
	PressurePa *float64       `json:"pressure_Pa"`
	MassKg     *float64       `json:"mass_kg"`
	Cases      []jsonLoadCase `json:"cases"`
	Note       string         `json:"note"`
}

type jsonLoadCase struct {
	Name     string   `json:"name"`
	OutwardN *float64 `json:"outward_N"`
	InPlaneN *float64 `json:"in_plane_N"`
	Formula  string   `json:"formula"`
}

type jsonChoice struct {
	Group           string         `json:"group"`
	Stud            string         `json:"stud"`
	Plate           string         `json:"plate"`
	Receptacle      string         `json:"receptacle"`
	Shim            string         `json:"shim"`
	PlateRivet      string         `json:"plate_rivet"`
	ReceptacleRivet string         `json:"receptacle_rivet"`
	Chance          *float64       `json:"chance_all_close"`
	WorstChance     *float64       `json:"chance_worst_station"`
	Reason          string         `json:"reason"`
	RunnersUp       []jsonRunnerUp `json:"runners_up"`
	Rejected        []jsonRunnerUp `json:"rejected"`
}

type jsonRunnerUp struct {
	Stud       string   `json:"stud"`
	Plate      string   `json:"plate"`
	Receptacle string   `json:"receptacle"`
	Shims      string   `json:"shims"`
	Chance     *float64 `json:"chance"`
	Why        string   `json:"why"`
}

type jsonStation struct {
	ID             string      `json:"id"`
	XMM            float64     `json:"x_mm"`
	YMM            float64     `json:"y_mm"`
	RivetLineDeg   float64     `json:"rivet_line_deg"`
	Support        string      `json:"support"`
	Edge           string      `json:"edge"`
	TapeMM         *float64    `json:"tape_mm"`
	InsetMM        *float64    `json:"inset_mm"`
	EdgeDistanceMM *float64    `json:"edge_distance_mm"`
	Corner         bool        `json:"corner"`
	Given          bool        `json:"given"`
	Choice         *int        `json:"choice"`
	Shims          int         `json:"shims"`
	Stack          jsonStack   `json:"stack"`
	Close          *jsonClose  `json:"close"`
	Load           jsonStnLoad `json:"load"`
	Checks         []jsonCheck `json:"checks"`
}

type jsonStack struct {
	NominalMM *float64    `json:"nominal_mm"`
	MeanMM    *float64    `json:"mean_mm"`
	StdDevMM  *float64    `json:"standard_deviation_mm"`
	Measured  bool        `json:"measured"`
	Layers    []jsonLayer `json:"layers"`
}

type jsonLayer struct {
	Name      string  `json:"name"`
	NominalMM float64 `json:"nominal_mm"`
	Basis     string  `json:"basis"`
}

type jsonClose struct {
	ReachMM        *float64 `json:"reach_mm"`
	DepthMM        *float64 `json:"depth_mm"`
	ShimsMM        *float64 `json:"shims_mm"`
	FreeWireMM     *float64 `json:"free_wire_mm"`
	DeflectionMM   *float64 `json:"deflection_mm"`
	DeflectionLoMM *float64 `json:"deflection_least_mm"`
	DeflectionHiMM *float64 `json:"deflection_greatest_mm"`
	LeastBy        string   `json:"least_set_by"`
	GreatestBy     string   `json:"greatest_set_by"`
	PreloadN       *float64 `json:"preload_N"`
	TurnNm         *float64 `json:"turning_torque_Nm"`
	UnlockNm       *float64 `json:"unlocking_torque_Nm"`
	RunsBack       bool     `json:"cam_runs_back"`
	ChanceWell     *float64 `json:"chance_closes_well"`
	ChanceLoose    *float64 `json:"chance_loose"`
	ChanceTight    *float64 `json:"chance_tight"`
	Cure           string   `json:"cure"`
}

type jsonStnLoad struct {
	AreaMM2  *float64 `json:"area_mm2"`
	OutwardN *float64 `json:"outward_N"`
	AirN     *float64 `json:"air_N"`
	InertiaN *float64 `json:"inertia_N"`
	SealN    *float64 `json:"seal_push_N"`
	InPlaneN *float64 `json:"in_plane_N"`
	Case     string   `json:"case"`
}

type jsonCheck struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`
	Value   *float64 `json:"value"`
	Limit   *float64 `json:"limit"`
	Unit    string   `json:"unit"`
	Sense   string   `json:"sense"`
	Margin  *float64 `json:"margin_relative"`
	Verdict string   `json:"verdict"`
	Basis   string   `json:"basis"`
	Rests   []string `json:"rests_on"`
	Cure    string   `json:"cure"`
}

type jsonHole struct {
	No          int              `json:"no"`
	Stage       int              `json:"stage"`
	Station     string           `json:"station"`
	Layer       string           `json:"layer"`
	Purpose     string           `json:"purpose"`
	Index       int              `json:"index"`
	XMM         float64          `json:"x_mm"`
	YMM         float64          `json:"y_mm"`
	WantedMin   *float64         `json:"wanted_least_mm"`
	WantedMax   *float64         `json:"wanted_greatest_mm"`
	Drill       string           `json:"drill"`
	DrillMM     *float64         `json:"drill_mm"`
	NoDrill     string           `json:"no_drill"`
	Pilot       string           `json:"pilot"`
	Clamped     bool             `json:"clamped"`
	Tool        string           `json:"tool"`
	RPM         *float64         `json:"speed_rpm"`
	Countersink *jsonCountersink `json:"countersink"`
	NoNewHole   bool             `json:"no_new_hole"`
	Cut         bool             `json:"cut"`
	CutOut      *jsonCutOut      `json:"cut_out"`
	Note        string           `json:"note"`
}

type jsonCountersink struct {
	Face       string   `json:"face"`
	AngleDeg   float64  `json:"angle_deg"`
	DiameterMM *float64 `json:"diameter_mm"`
	DepthMM    *float64 `json:"depth_mm"`
	RPM        *float64 `json:"speed_rpm"`
	KnifeEdge  bool     `json:"knife_edge"`
	Purpose    string   `json:"purpose"`
}

type jsonCutOut struct {
	LengthMM  float64 `json:"length_mm"`
	WidthMM   float64 `json:"width_mm"`
	TurnedDeg float64 `json:"turned_deg"`
}

type jsonDropOn struct {
	Marking string   `json:"marking"`
	ZoneMM  *float64 `json:"zone_diameter_mm"`
	ClearMM *float64 `json:"clearance_diametral_mm"`
	Chance  *float64 `json:"chance"`
	Lo      *float64 `json:"chance_95_low"`
	Hi      *float64 `json:"chance_95_high"`
	Samples int      `json:"samples"`
	Basis   string   `json:"basis"`
}

type jsonOrder struct {
	Kind     string   `json:"kind"`
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Need     int      `json:"need"`
	Spare    int      `json:"spare"`
	Buy      int      `json:"buy"`
	PackSize int      `json:"pack_size"`
	Packs    int      `json:"packs"`
	Cost     float64  `json:"cost"`
	Currency string   `json:"currency"`
	MassG    float64  `json:"mass_g"`
	Panels   []string `json:"for_panels"`
	Note     string   `json:"note"`
}

type jsonAssumption struct {
	ID     string `json:"id"`
	Text   string `json:"text"`
	Value  string `json:"value"`
	Source string `json:"source"`
}

type jsonCaution struct {
	ID     string   `json:"id"`
	Text   string   `json:"text"`
	Panels []string `json:"panels"`
}

type jsonPlanFault struct {
	Panel   string `json:"panel"`
	Station string `json:"station"`
	Check   string `json:"check"`
	Text    string `json:"text"`
}

// num is nil for what is not known or has no bound: JSON has no such numbers.
func num(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = tidyFloat(v)
	return &v
}

// tidyFloat keeps nine significant figures, so that the last bits of a sum do not show.
func tidyFloat(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	scale := math.Pow(10, 8-math.Floor(math.Log10(math.Abs(v))))
	if math.IsInf(scale, 0) || scale == 0 {
		return v
	}
	return math.Round(v*scale) / scale
}
