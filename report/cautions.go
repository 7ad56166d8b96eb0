package report

// caution is one danger or duty in plain words, with where the facts in it are from.
type caution struct {
	About, Words string
	Source       string // empty for common practice without one
}

// cautionsLead goes before every list of cautions.
const cautionsLead = "Always follow local codes and licensed practice: law differs by place, and nothing here is legal advice."

// cautions are what to mind before and on a search; cautionsLead goes with them.
var cautions = []caution{
	{"Permission", "Every piece of land has an owner, beaches, parks and commons too. Have permission, and an agreement on finds, in writing first.",
		"Code of Practice for Responsible Metal Detecting in England and Wales"},
	{"Protected ground", "Detecting on protected monuments, military remains, nature reserves and public land may be an offence, and their edges are not always clear on the ground. In England and Wales, that holds for scheduled monuments; on federal land in the United States, for digging without a permit.",
		"codes of practice; 16 USC 470cc; 36 CFR 2.1 and 261.9"},
	{"Finds law", "Some finds must be reported, within days: treasure in England, Wales and Northern Ireland within 14. Note where each find lay, and stop and call an expert for finds in place below the ploughed soil.",
		"Treasure Act 1996; codes of practice"},
	{"Human remains", "Stop, leave them in place and tell the police.", ""},
	{"Ordnance", "Recognise, retreat, report. Never touch, move or disturb it; go back the way you came; keep phone and radio off close to it; then call the emergency number. Old battlefields may still hold live ordnance, and souvenirs are not safe either.",
		"United States Department of Defense, the slogan of its 3Rs"},
	{"Wells and cellar holes", "Old wells are often under rotten boards or brush near house sites, and the ground about them can give way. Look for hollows and pipe ends, and keep off.",
		""},
	{"Buried lines", "Have lines marked before any digging, in the United States 2 to 3 working days before by calling 811. Marks show public lines only; near a mark dig by hand.",
		"guidance of 811 services"},
	{"Hunting season", "Wear blaze orange where and when people hunt; how much is law in many places.", "lists of state law in the United States"},
	{"Cold and working alone", "Tell somebody where you are and when you will be back. Wind makes cold worse: skin freezes within 30 minutes at a wind chill of −28 °C (−18 °F).",
		"National Weather Service, wind chill chart 2001"},
}

// cautionLines are the cautions as entries of a list.
func cautionLines() []string {
	var out []string
	for _, c := range cautions {
		from := ""
		if c.Source != "" {
			from = " (" + c.Source + ")"
		}
		out = append(out, c.About+". "+c.Words+from)
	}
	return out
}
