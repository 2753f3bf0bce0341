" Highlights of .handful files: what stands where, told from the words alone.
if exists("b:current_syntax")
  finish
endif

syntax match handfulComment /#.*$/ contains=@Spell
syntax region handfulText start=/"/ skip=/\\./ end=/"/ oneline
syntax match handfulBlock /^\s*\zs\(part\|player\|kit\|instrument\|gear\|implement\)\>/
syntax match handfulHead /^\s*\zs\(title\|credit\|note\|meter\|tempo\|hold\|break\|bars\|pickup\|mark\|repeat\|ending\|vamp\|order\|use\|omit\|accept\|from\|profile\|reach\|fastest\|margin\|table\|station\|called\|also\|family\|sound\|midi\|glyph\|zone\|size\|height\|fills\|over\|members\|shares\|seat\|length\|rings\|noise\|handling\|basis\|weighs\|speaks\|stops\|never\|hands\|leads\|seated\|rolls\|holds\|damps\|likes\|cue\|carry\|stands\|way\)\>/
syntax match handfulLimb /^\s*\zs\(R+L\|L+R\|RL\|LR\|RF\|LF\|R\|L\|mouth\|any\)\ze\s/
syntax keyword handfulWord with as written for of in at over to on pass because is holds takes lays damps turns page right left ahead behind up down facing or by and butt
syntax keyword handfulMount held padded clipped clamped hung floor stand body
syntax match handfulPlace /\<\d[0-9.+&~x'>etal\/-]*/
syntax match handfulSign /|\|%\d*\|\~\|\s\zs-\d*\ze\(\s\|$\)/
syntax keyword handfulDynamic pppp ppp pp p mp mf f ff fff ffff sf sfz sffz fz rf rfz fp sfp cresc dim contained
syntax match handfulBars /|[^#]*/ contains=handfulSign,handfulPlace,handfulDynamic,handfulText transparent

highlight default link handfulComment Comment
highlight default link handfulText String
highlight default link handfulBlock Structure
highlight default link handfulHead Keyword
highlight default link handfulLimb Identifier
highlight default link handfulWord Keyword
highlight default link handfulMount Type
highlight default link handfulPlace Number
highlight default link handfulSign Operator
highlight default link handfulDynamic Constant

let b:current_syntax = "handful"
