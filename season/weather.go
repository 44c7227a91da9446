package season

// DayWeather is the weather of one day over the whole region, as the shifts that began on it said it.
type DayWeather struct {
	AirC   float64 // mean of the air temperatures said, °C
	Wet    float64 // share of those who said that it was wet, 0 to 1
	Shifts int     // that said it
}

// Weather gives the weather of the days on which any shift said it. A shift says it when it begins, so one that runs still counts.
// Each shift weighs the same: what one launch felt is no better known than what another did.
func (b *Book) Weather() map[Day]DayWeather {
	out := map[Day]DayWeather{}
	for i := range b.Shifts {
		s := &b.Shifts[i]
		if s.Weather == nil || !s.From.Set {
			continue
		}
		d := out[s.From.Day()]
		d.Shifts++
		d.AirC += float64(s.Weather.AirC)
		if s.Weather.Wet {
			d.Wet++
		}
		out[s.From.Day()] = d
	}
	for day, d := range out {
		d.AirC /= float64(d.Shifts)
		d.Wet /= float64(d.Shifts)
		out[day] = d
	}
	return out
}
