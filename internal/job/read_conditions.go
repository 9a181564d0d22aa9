package job

import "panelwright/internal/source"

// conditions reads what the panels meet; blank fields give all defaults.
func (rd *reader) conditions(f *source.Fields) {
	c := &rd.job.Conditions
	c.TopSpeed = rd.setting(f, "top speed", keyTopSpeed)
	c.AirDensity = rd.setting(f, "air density", keyAirDensity)
	a, _ := f.OptChild("acceleration")
	c.AccelForward = rd.setting(a, "forward", keyForward)
	c.AccelSideways = rd.setting(a, "sideways", keySideways)
	c.AccelVertical = rd.setting(a, "vertical", keyVertical)
	a.Done()
	t, _ := f.OptChild("temperature")
	c.TempMin = rd.setting(t, "low", keyTempLow)
	c.TempMax = rd.setting(t, "high", keyTempHigh)
	c.TempFit = rd.setting(t, "at fitting", keyTempFit)
	rd.temperatures(t)
	t.Done()
	k, _ := f.OptChild("factors")
	c.GustFactor = rd.setting(k, "gust", keyGust)
	c.RatingFactor = rd.setting(k, "ratings", keyRatings)
	c.JointFactor = rd.setting(k, "joints", keyJoints)
	k.Done()
	c.Friction = rd.setting(f, "friction", keyFriction)
	m, _ := f.OptChild("torque")
	c.HandTorque = rd.setting(m, "hand", keyHandTorque)
	c.ToolTorque = rd.setting(m, "tool", keyToolTorque)
	m.Done()
	c.DriverPush = rd.setting(f, "driver push", keyDriverPush)
	c.Ageing = rd.setting(f, "ageing", keyAgeing)
	z, _ := f.OptChild("position zone")
	c.TemplateZone = rd.setting(z, "template", keyZoneTemplate)
	c.JigZone = rd.setting(z, "jig", keyZoneJig)
	c.MatchZone = rd.setting(z, "match", keyZoneMatch)
	z.Done()
	c.Marking = f.OptEnum("marking", "match", "match", "jig", "template")
	c.MarkingAssumed = !f.Good("marking")
	c.HoleFit = rd.setting(f, "hole fit", keyHoleFit)
	c.LocateExcessMax = rd.setting(f, "locating excess", keyLocate)
	c.SpareShare = rd.setting(f, "spares", keySpares)
	f.Done()
}

// temperatures checks their order, where the job gives one; a default that is in the way is named.
func (rd *reader) temperatures(t *source.Fields) {
	c := &rd.job.Conditions
	said := func(s Setting) string {
		if s.Assumed {
			return rd.show(s.Value, defaultOf(keyTempLow).Dim) + " (default)"
		}
		return rd.show(s.Value, defaultOf(keyTempLow).Dim)
	}
	key := func(want string) string { // the fault stands at a key that the job gives
		for _, k := range []string{want, "high", "low", "at fitting"} {
			if t.Good(k) {
				return k
			}
		}
		return want
	}
	switch {
	case c.TempMin.Value > c.TempMax.Value:
		t.Fault(key("high"), RuleTemperatureOrder, "low "+said(c.TempMin)+", high "+said(c.TempMax)+"; accepted: low below high", "exchange them, or give both")
	case c.TempFit.Value < c.TempMin.Value || c.TempFit.Value > c.TempMax.Value:
		t.Fault(key("at fitting"), RuleTemperatureOrder, "fitted at "+said(c.TempFit)+"; accepted: from low, "+said(c.TempMin)+", to high, "+said(c.TempMax), "give all three")
	}
}
