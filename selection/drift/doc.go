// Package drift separates a line's own movement from the effects of its seasons (the weather), and finds plants that do
// not belong to a line. It is plain statistics of L*, a*, b* and knows nothing of check plants, crosses or targets.
//
// Start with [NewWeather], which takes the entries that were grown in several seasons, then [Weather.Slope] or
// [Weather.Chart] for a line; [OffTypes] and [Apart] examine single plants. An entry is anything whose genes do not
// change, such as a check variety. Colours are triples of L*, a*, b*, covariances are in squared Lab units. Seasons are
// numbered from 0.
//
// The model: the mean of n plants of an entry g in season s is level(g) + weather(s), for the line also + slope ×
// time(s), with an error covariance of S/n. Where entries connect seasons, weather is a fixed effect; where none do,
// season effects are taken as independent, and their variance is estimated from the line itself.
package drift
