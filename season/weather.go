package season

// DayWeather is the weather of one day over the whole region, as the shifts that began on it said it.
type DayWeather struct {
	AirC    float64 // mean of the air temperatures said, °C; 0 where no shift said one
	Wet     float64 // share of those who said whether it was wet that said it was, 0 to 1; 0 where none did
	SaidAir int     // shifts that said the air
	SaidWet int     // shifts that said whether it was wet
}

// Weather gives the weather of the days on which any shift said a part of it. A shift says it when it begins, so one that runs still counts.
// Each shift weighs the same: what one launch felt is no better known than what another did.
func (b *Book) Weather() map[Day]DayWeather {
	out := map[Day]DayWeather{}
	for i := range b.Shifts {
		s := &b.Shifts[i]
		if s.Weather == nil || s.Weather.AirC == nil && s.Weather.Wet == nil || !s.From.Set {
			continue
		}
		d := out[s.From.Day()]
		if air := s.Weather.AirC; air != nil {
			d.SaidAir++
			d.AirC += float64(*air)
		}
		if wet := s.Weather.Wet; wet != nil {
			d.SaidWet++
			if *wet {
				d.Wet++
			}
		}
		out[s.From.Day()] = d
	}
	for day, d := range out {
		d.AirC /= float64(max(d.SaidAir, 1))
		d.Wet /= float64(max(d.SaidWet, 1))
		out[day] = d
	}
	return out
}
