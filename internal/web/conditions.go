package web

import (
	"net/http"
	"net/url"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/fault"
	"panelwright/internal/job"
	"panelwright/internal/measure"
)

// conditionsOf lists what the job's panels meet, each with where it comes from when the job does not give it.
func conditionsOf(j *job.Job) [][2]string {
	c := j.Conditions
	var out [][2]string
	add := func(name string, s job.Setting, words string) {
		if s.Assumed {
			words += " (assumed; " + s.Source + ")"
		}
		out = append(out, [2]string{name, words})
	}
	top := measure.MetrePerSecond(c.TopSpeed.Value)
	if c.TopSpeed.Value == 0 {
		top = "none: it stands"
	}
	add("top speed", c.TopSpeed, top)
	add("acceleration forward", c.AccelForward, measure.Gravity(c.AccelForward.Value))
	add("acceleration sideways", c.AccelSideways, measure.Gravity(c.AccelSideways.Value))
	add("acceleration vertical", c.AccelVertical, measure.Gravity(c.AccelVertical.Value))
	for _, t := range []struct {
		name string
		s    job.Setting
	}{{"coldest", c.TempMin}, {"hottest", c.TempMax}, {"at fitting", c.TempFit}} {
		add(t.name, t.s, measure.Fixed(t.s.Value, 0)+" °C")
	}
	return out
}

// conditionField is a key of the job that the form of conditions asks for.
type conditionField struct{ Path, Label, Hint, Value, Fault string }

// conditionFields are the keys of formats.md that are one value, those that differ from vehicle to vehicle.
var conditionFields = []conditionField{
	{Path: "conditions.top speed", Label: "Top speed", Hint: "with its unit, as 140 mph, 62 m/s, 220 km/h"},
	{Path: "conditions.acceleration.forward", Label: "Acceleration forwards and backwards", Hint: "as 1.2 g"},
	{Path: "conditions.acceleration.sideways", Label: "Acceleration sideways", Hint: "as 1.2 g"},
	{Path: "conditions.acceleration.vertical", Label: "Acceleration up and down", Hint: "as 2 g"},
	{Path: "conditions.temperature.low", Label: "Lowest temperature", Hint: "as -10 °C"},
	{Path: "conditions.temperature.high", Label: "Highest temperature", Hint: "as 50 °C"},
	{Path: "conditions.temperature.at fitting", Label: "Temperature at fitting", Hint: "as 20 °C"},
	{Path: "conditions.torque.hand", Label: "Torque that a hand can turn", Hint: "as 1 N·m"},
	{Path: "conditions.torque.tool", Label: "Torque that a driver can turn", Hint: "as 3 N·m"},
	{Path: "job.record address", Label: "Where a panel's record is kept", Hint: "as http://bench.local/p/{panel}; printed on its label"},
}

// conditionsForm reads the fields out of a text; sent values and faults of reading stand in them when there are any.
func conditionsForm(text string, sent url.Values, faults fault.List) (out []conditionField, bad bool) {
	d, _ := edit.Open([]byte(text)) // a text that cannot be read has nothing at any key
	for _, f := range conditionFields {
		if d != nil {
			f.Value = d.Text(f.Path)
		}
		if sent.Has(f.Path) {
			f.Value = sent.Get(f.Path)
		}
		for _, k := range faults {
			if k.Path == f.Path {
				f.Fault = strings.TrimSuffix(k.Text+"; "+k.Hint, "; ")
				bad = true
			}
		}
		out = append(out, f)
	}
	return out, bad
}

// saveConditions writes the conditions that were changed; an empty field takes its key out, so that the default stands.
func (s *server) saveConditions(w http.ResponseWriter, r *http.Request) error {
	v, number, err := s.sent(r)
	if err != nil {
		return err
	}
	from, err := s.revisionOf(r, v, number)
	if err != nil {
		return err
	}
	was, _ := conditionsForm(from.Text, nil, nil)
	paths := []string{"job.units"}
	for _, f := range was {
		if r.PostForm.Has(f.Path) && strings.TrimSpace(r.PostForm.Get(f.Path)) != f.Value {
			paths = append(paths, f.Path)
		}
	}
	if number != v.Number && sameAt(from, v, paths...) { // what others changed is elsewhere
		from, number = v, v.Number
	}
	text := []byte(from.Text)
	var changed []string
	for _, f := range was {
		now := strings.TrimSpace(r.PostForm.Get(f.Path))
		if !r.PostForm.Has(f.Path) || now == f.Value {
			continue
		}
		if now == "" {
			text, err = edit.Delete(text, f.Path)
		} else {
			text, err = edit.Set(text, f.Path, edit.Scalar(now))
		}
		if err != nil {
			return refuse(http.StatusUnprocessableEntity, "Not written", "%s. Nothing was changed.", err.Error()).back(address(v.Vehicle, "text"), "To the text")
		}
		changed = append(changed, strings.ToLower(f.Label))
	}
	_, faults := job.Read("job.yaml", text, from.Open)
	if form, bad := conditionsForm(from.Text, r.PostForm, faults); bad {
		return s.showVehicle(w, r, http.StatusUnprocessableEntity, from, newPanelForm{Conditions: form})
	}
	return s.save(w, r, from, number, string(text), "conditions: "+strings.Join(changed, ", "), address(v.Vehicle, "#conditions"))
}
