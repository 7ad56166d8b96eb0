package site_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site"
	"untrod/track"
)

func TestRoleOf(t *testing.T) {
	s := &site.Site{Landmarks: []site.Landmark{{Name: "Big oak"}, {Name: "mark 1", Mark: true}}}
	for name, c := range map[string]struct {
		name, sym, kind string
		stood           bool
		want            site.Role
	}{
		"a plain name":                 {"gate", "Flag, Blue", "", false, site.RoleLandmark},
		"saved while standing":         {"014", "Flag, Blue", "", true, site.RoleFind},
		"no name at all":               {"", "", "", false, site.RoleLandmark},
		"named after a landmark":       {" big OAK ", "", "", true, site.RoleNone},
		"named after a mark":           {"Mark 1", "", "", false, site.RoleNone},
		"an unknown mark":              {"Mark 2", "", "", true, site.RoleMark},
		"first word with a number":     {"find3", "", "", false, site.RoleFind},
		"first word with a dash":       {"Target-17 iron", "", "", false, site.RoleFind},
		"not the first word":           {"old dig", "", "", false, site.RoleLandmark},
		"a name that starts as a word": {"Finding's end", "", "", false, site.RoleLandmark},
		"a person's apostrophe":        {"Mark's oak", "", "", false, site.RoleLandmark},
		"type":                         {"014", "", "Find", false, site.RoleFind},
		"type before symbol":           {"014", "target", "control point", false, site.RoleMark},
		"symbol before name":           {"dig 4", "Landmark", "", false, site.RoleLandmark},
		"symbol, any word":             {"014", "Blue Target", "", false, site.RoleFind},
		"a find at a landmark":         {"big oak", "", "find", false, site.RoleFind},
		"a mark's type at a landmark":  {"big oak", "", "mark", false, site.RoleNone},
		"landmark saved while resting": {"gate", "", "landmark", true, site.RoleLandmark},
	} {
		t.Run(name, func(t *testing.T) {
			w := track.Waypoint{Fix: track.NoFix, Name: c.name, Sym: c.sym, Type: c.kind}
			require.Equal(t, c.want, site.RoleOf(w, s, c.stood))
		})
	}
	require.Equal(t, site.RoleLandmark, site.RoleOf(track.Waypoint{Name: "big oak"}, nil, false), "without a site")
	require.Equal(t, site.RoleLandmark, site.RoleOf(track.Waypoint{}, &site.Site{Landmarks: []site.Landmark{{}}}, false), "no name is no tie")
}
