package tongue

import (
	"strconv"
	"time"
)

var (
	weekdays = [...]Text{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}
	months   = [...]Text{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}
	whole    = [...]Text{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}
)

// Month says the name of a month.
func Month(m time.Month) string { return Say(whole[m-1]) }

// Date says a moment to the minute with its weekday and zone: Sat 4 Jul 2026 09:30 +0000.
func Date(t time.Time) string {
	return Say("{weekday} {day} {month} {year} {time} {zone}", Say(weekdays[t.Weekday()]), strconv.Itoa(t.Day()), Say(months[t.Month()-1]),
		strconv.Itoa(t.Year()), t.Format("15:04"), t.Format("-0700"))
}
