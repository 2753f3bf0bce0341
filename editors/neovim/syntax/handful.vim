" Highlights of .handful files: what stands where, told from the words alone.
if exists("b:current_syntax")
  finish
endif

" A # behind the letter of a note is a sharp.
syntax match handfulComment /\v%([:+][A-Ga-g]#?)@<!%(%(^|\s)[A-G]#?)@<!#.*$|%(\s[A-G])@<=#%(#?[0-9])@!.*$/ contains=@Spell
syntax region handfulText start=/"/ skip=/\\./ end=/"/ oneline
syntax match handfulBlock /^\s*\zs\(part\|player\|kit\|gear\|instrument\|implement\)\>/
syntax match handfulHead /^\s*\zs\(title\|credit\|note\|cue\|meter\|tempo\|hold\|break\|bars\|pickup\|mark\|printed\|repeat\|ending\|vamp\|order\|use\|omit\|together\|accept\|from\|profile\|reach\|fastest\|margin\|hands\|leads\|seated\|rolls\|holds\|damps\|likes\|table\|station\|called\|also\|family\|sound\|midi\|glyph\|zone\|size\|height\|fills\|over\|members\|row\|range\|octaves\|widths\|kettle\|tuning\|doubler\|snares\|shares\|seat\|rings\|noise\|moves\|handling\|basis\|head\|weighs\|butt\|length\|speaks\|stops\|never\|stands\|carry\|way\)\>/
syntax match handfulLimb /^\s*\zs\(R+L\|RL\|LR\|mouth\|any\)\ze\s/
syntax match handfulRight /^\s*\zs\(R\|RF\)\ze\s/
syntax match handfulLeft /^\s*\zs\(L\|LF\)\ze\s/
syntax keyword handfulWord ahead yes written with wheels up two turns to takes student strokes stops stool stays softest soft silent shaken seated rolls right published professional pass page over or one-handed one on of nothing none no needs named much moves mouth medium matters mallets loudest loud little light lever left least lays late knee keeps itself is in holds heavy hard hands hand from four forearm for foot feet facing experienced end easy down damps costs common-practice chair careful by buzz butt both behind because awkward audible at as apart and
syntax keyword handfulMount held stand padded clipped clamped hung floor body
syntax match handfulPlace /\<\d[0-9.+&~x'>etal\/-]*/
syntax match handfulSign /|\|%\d*\|\~\|\s\zs-\d*\ze\(\s\|$\)/
syntax keyword handfulDynamic pppp ppp pp p mp mf f ff fff ffff sf sfz sffz fz rf rfz fp sfp cresc dim contained
syntax match handfulBars /\v\|%([^#]|[:+][A-Ga-g]@<=#{1,2})*/ contains=handfulSign,handfulPlace,handfulDynamic,handfulText transparent

highlight default link handfulComment Comment
highlight default link handfulText String
highlight default link handfulBlock Structure
highlight default link handfulHead Keyword
highlight default link handfulLimb Identifier
highlight default handfulRight term=bold cterm=bold ctermfg=DarkRed gui=bold guifg=#c2571a
highlight default handfulLeft term=underline cterm=underline ctermfg=DarkCyan gui=underline guifg=#2b7fc4
highlight default link handfulWord Keyword
highlight default link handfulMount Type
highlight default link handfulPlace Number
highlight default link handfulSign Operator
highlight default link handfulDynamic Constant

let b:current_syntax = "handful"
