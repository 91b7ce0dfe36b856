package book

import (
	"hueward/selection"
	"hueward/selection/book/record"
)

// What the book holds, as package record reads it.
type (
	Line            = record.Line
	Target          = record.Target
	Plant           = record.Plant
	Status          = record.Status
	Photo           = record.Photo
	Reading         = record.Reading
	Kind            = record.Kind
	Cross           = record.Cross
	Head            = record.Head
	Packet          = record.Packet
	GerminationTest = record.GerminationTest
	Sowing          = record.Sowing
	Trait           = record.Trait
	Score           = record.Score
	FounderGroup    = record.FounderGroup
	Pollen          = record.Pollen
	SeedOut         = record.SeedOut
	Out             = record.Out
	CloneBy         = record.CloneBy
)

// How plants are multiplied without seed, and how seed leaves a packet.
const (
	ByTuber    = record.ByTuber
	ByCutting  = record.ByCutting
	ByDivision = record.ByDivision
	OutGiven   = record.OutGiven
	OutSold    = record.OutSold
	OutLost    = record.OutLost
)

// ClonesBy are all ways to multiply a plant without seed.
var ClonesBy = record.ClonesBy

// A line is moved toward a shade, or held true at it.
const (
	Move = record.Move
	Hold = record.Hold
)

// The kinds of a cross.
const (
	KindCross = record.KindCross
	KindSelf  = record.KindSelf
	KindSib   = record.KindSib
	KindOpen  = record.KindOpen
)

// The statuses of a plant.
const (
	Growing = record.Growing
	Kept    = record.Kept
	Reserve = record.Reserve
	Passed  = record.Passed
	OffType = record.OffType
	Lost    = record.Lost
)

// StatusOf returns the status of that word or name, or an empty one.
func StatusOf(word string) Status { return record.StatusOf(word) }

// Statuses lists all statuses, in the order above.
var Statuses = record.Statuses

// Observations returns the readings of known plants in the form that selection.Rank takes.
func Observations(rs []Reading) []selection.Observation { return record.Observations(rs) }
