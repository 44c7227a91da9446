package merge

import "time"

// Bounds of a skew that entries may be corrected by.
const (
	// MaxSkew is the largest difference taken for a clock that is merely set wrong: a wrong day, and the widest difference of
	// time zones (26 h, from UTC-12 to UTC+14) with some room. Beyond it the clock was lost, such as back at 1970 after a flat battery, and may
	// have been set again between making an entry and sending it. An assumption; there is no published limit.
	MaxSkew = 48 * time.Hour
	// MaxRoundTrip is the longest exchange a skew is read from: the error of the skew is half of it.
	MaxRoundTrip = time.Minute
)

// Skew gives by how many milliseconds a device's clock runs ahead of the server's (negative: behind).
//
// deviceNow is what the device's clock showed when it sent the request, serverNow what the server's showed when the request
// had arrived, roundTrip the time the device last measured from request to answer (0: not known). The request is taken to
// have travelled for half the round trip, so
//
//	skew = deviceNow + roundTrip/2 - serverNow, with an error of at most ± roundTrip/2.
//
// A skew that lies within its own error is given as 0, so that batches of a right clock are not shifted against each other
// by the luck of the line. plausible is false where entries should be looked at rather than corrected quietly: a difference
// beyond [MaxSkew], a round trip that is negative or beyond [MaxRoundTrip], or a clock that was not told.
func Skew(deviceNow, serverNow time.Time, roundTrip time.Duration) (skewMS int64, plausible bool) {
	if deviceNow.IsZero() || serverNow.IsZero() {
		return 0, false
	}
	half := min(max(roundTrip, 0), MaxRoundTrip) / 2
	// Sub saturates at ± 292 years, so the milliseconds can always be turned back into a duration.
	d := deviceNow.Sub(serverNow.Add(-half))
	if d >= -half && d <= half {
		d = 0
	}
	plausible = d >= -MaxSkew && d <= MaxSkew && roundTrip >= 0 && roundTrip <= MaxRoundTrip
	return d.Milliseconds(), plausible
}
