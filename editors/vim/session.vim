" A headless session: Vim is started with a piece that cannot be played, and
" what the server finds is there without anybody touching it.
"   vim --not-a-term -N -u vimrc -S editors/vim/session.vim PIECE
function! s:Say(text) abort
  call writefile(['', 'vim: ' . a:text], '/dev/stdout', 'a')
endfunction

function! s:Session(timer) abort
  let s:waited += 1
  let l:found = filter(copy(ale#engine#GetLoclist(bufnr(''))), {_, d -> get(d, 'code', '') is# 'short-change' || d.text =~# 'needs at least'})
  if empty(l:found) && s:waited < 4000
    return
  endif
  call timer_stop(a:timer)
  if empty(l:found)
    call s:Say('no short-change was shown: ' . string(ale#engine#GetLoclist(bufnr(''))))
    cquit 1
  endif
  call s:Say('version ' . v:version . ' opened ' . expand('%:t'))
  call s:Say('line ' . l:found[0].lnum . ' is underlined: ' . l:found[0].text)
  " What a hover shows of the cue, in the preview: the finding, with its arithmetic.
  let g:ale_hover_to_preview = 1
  call cursor(l:found[0].lnum, l:found[0].col)
  ALEHover
  let s:waited = 0
  call timer_start(50, function('s:Hovered'), {'repeat': -1})
endfunction

function! s:Hovered(timer) abort
  let s:waited += 1
  let l:text = ''
  for l:win in getwininfo()
    if getwinvar(l:win.winnr, '&previewwindow')
      let l:text = join(getbufline(l:win.bufnr, 1, '$'), "\n")
    endif
  endfor
  if empty(l:text) && s:waited < 1000
    return
  endif
  call timer_stop(a:timer)
  for l:part in ['short-change', 'needed', 'there is', 'to spare', 'MTM']
    if stridx(l:text, l:part) < 0
      call s:Say('the hover does not say ' . l:part . ': ' . l:text)
      cquit 1
    endif
  endfor
  call s:Say('the hover shows the arithmetic')
  " A line in somebody's own layout is laid out by the fixer.
  execute bufwinnr(bufnr(s:piece)) . 'wincmd w'
  let s:laid = getline(1, '$')
  call setline(1, substitute(s:laid[0], ' ', '    ', ''))
  call append('$', '')
  let b:ale_fixers = ['handful']
  ALEFix
  let s:waited = 0
  call timer_start(50, function('s:Fixed'), {'repeat': -1})
endfunction

function! s:Fixed(timer) abort
  let s:waited += 1
  if getline(1, '$') !=# s:laid && s:waited < 1000
    return
  endif
  call timer_stop(a:timer)
  if getline(1, '$') !=# s:laid
    call s:Say('the fixer left: ' . join(getline(1, '$'), ' / '))
    cquit 1
  endif
  call s:Say('the fixer laid a line out again')
  call s:Say('done')
  qall!
endfunction

let s:piece = expand('%')
let s:waited = 0
call timer_start(50, function('s:Session'), {'repeat': -1})
