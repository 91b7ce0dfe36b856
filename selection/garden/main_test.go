package garden

import (
	"os"
	"testing"

	"hueward/colorimg/must"
)

func TestMain(m *testing.M) { os.Exit(must.Main(m.Run)) }
