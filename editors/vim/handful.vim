" The language server of .handful files for Vim 8 or later with ALE: put this
" file into ~/.vim/plugin, and editors/neovim/syntax/handful.vim into
" ~/.vim/syntax for the colours.
" A command that is not on the path may be where Go installs.
function! s:Command() abort
  for l:dir in executable('handful') ? [] : [$GOBIN, (empty($GOPATH) ? expand('~/go') : $GOPATH) . '/bin']
    if executable(l:dir . '/handful')
      return l:dir . '/handful'
    endif
  endfor
  return 'handful'
endfunction

let g:handful_command = get(g:, 'handful_command', s:Command())

augroup handful
  autocmd!
  autocmd BufNewFile,BufRead *.handful setlocal filetype=handful commentstring=#\ %s shiftwidth=2 expandtab iskeyword+=-
  autocmd FileType handful call s:Define()
augroup END

function! HandfulRoot(buffer) abort
  let l:git = finddir('.git', fnamemodify(bufname(a:buffer), ':p:h') . ';')
  return empty(l:git) ? fnamemodify(bufname(a:buffer), ':p:h') : fnamemodify(l:git, ':p:h:h')
endfunction

" The linter is made when the first such file is, which is before ALE looks for
" linters: at VimEnter it would be too late for the file that Vim began with.
function! s:Define() abort
  if exists('s:defined')
    return
  endif
  try
    call ale#linter#Define('handful', {
    \ 'name': 'handful',
    \ 'lsp': 'stdio',
    \ 'executable': {buffer -> g:handful_command},
    \ 'command': '%e lsp',
    \ 'project_root': function('HandfulRoot'),
    \ 'initialization_options': get(g:, 'handful_settings', {}),
    \})
    " :ALEFix lays the file out, once  let b:ale_fixers = ['handful']  or a line of ale_fixers asks for it.
    call ale#fix#registry#Add('handful', 'HandfulLayout', ['handful'], 'Put a .handful file in its canonical layout.')
    let s:defined = 1
  catch /E117/
    let s:defined = 0
    call s:Warn('handful: the plugin ALE is not loaded, which marks lines as you write')
    return
  endtry
  if !executable(g:handful_command)
    call s:Warn('handful: there is no command ' . g:handful_command . '; put it on the path, or name it in g:handful_command')
  endif
endfunction

function! s:Warn(text) abort
  echohl WarningMsg
  echomsg a:text
  echohl None
endfunction

function! HandfulLayout(buffer) abort
  return {'command': ale#Escape(g:handful_command) . ' fmt -'}
endfunction
