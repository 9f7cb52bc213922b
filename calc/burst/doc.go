// Package burst finds the pressure at which a rupture disc burst in a trace of pressure over time,
// and turns a sample of discs into a statement about their lot.
//
// The burst pressure is the largest credible sample before the drop. A lone sample far above its
// neighbours is a spike and not a peak. A lot statement is a tolerance interval: it says which
// proportion of the lot is inside, with which confidence.
//
// The peak is never extrapolated. A record without a drop, or one whose peak reaches full scale,
// says so.
package burst
