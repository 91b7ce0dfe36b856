// Package calendar tells what a garden needs on a day: heads to bag, to pollinate, to harvest, packets to dry, plants
// to photograph. [Due] works it out from what was noted and from the crop's usual times; [WriteICS] writes it as a
// calendar file.
//
// It knows nothing of the book, of colours or of the clock: all that it knows is in [Garden] and the day. Days are at
// midnight UTC and stand for the garden's own date.
package calendar
