// Package drift tells a line's own movement from the weather of its seasons, and plants that do not belong from those
// that do. It is plain statistics of L*, a*, b*: what a check plant, a line or a target is, its callers know.
//
// Start with [NewWeather], which takes what was grown in several seasons, and ask it for a line's [Slope] or [Chart];
// [OffTypes] and [Apart] look at plants one by one. Colours are triples of L*, a*, b*, covariances are in squared Lab
// units. Seasons are numbered from 0.
//
// The model: the mean of n plants of an entry g in season s is level(g) + weather(s), for the line also slope ×
// time(s), with an error of covariance S/n. Nothing is assumed of the weather that an entry grown in two seasons tells;
// where none was grown, seasons are taken to be independent, and how they scatter is seen from the line itself.
package drift
