package syntax

// The rules that problems with a text are told under. Each has its file in
// lang/check, which explains it.
const (
	RuleBarLength    = "bar-length"
	RuleCount        = "count"
	RuleDefinition   = "definition"
	RuleNotCarried   = "not-carried"
	RuleReason       = "reason-to-write"
	RuleRoadMap      = "road-map"
	RuleSyntax       = "syntax"
	RuleTooLarge     = "too-large"
	RuleUnclearName  = "unclear-name"
	RuleUnknownName  = "unknown-name"
	RuleUnknownPlace = "unknown-place"
	RuleUnknownWay   = "unknown-way"
	RuleUnused       = "unused"
	RuleUse          = "use"
	RuleValue        = "value"
)
