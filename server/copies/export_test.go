package copies

import "time"

// Stays lets tests ask which times a rule keeps.
func Stays(k Keep, times []time.Time) []bool { return k.stays(times) }
