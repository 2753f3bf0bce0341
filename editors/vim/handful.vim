" The language server of .handful files for Vim 8 or later with ALE: put this
" file into ~/.vim/plugin, and editors/neovim/syntax/handful.vim into
" ~/.vim/syntax for the colours.
let g:handful_command = get(g:, 'handful_command', 'handful')

augroup handful
  autocmd!
  autocmd BufNewFile,BufRead *.handful setlocal filetype=handful commentstring=#\ %s shiftwidth=2 expandtab iskeyword+=-
augroup END

function! HandfulRoot(buffer) abort
  let l:git = finddir('.git', fnamemodify(bufname(a:buffer), ':p:h') . ';')
  return empty(l:git) ? fnamemodify(bufname(a:buffer), ':p:h') : fnamemodify(l:git, ':p:h:h')
endfunction

function! s:Define() abort
  call ale#linter#Define('handful', {
  \ 'name': 'handful',
  \ 'lsp': 'stdio',
  \ 'executable': {buffer -> g:handful_command},
  \ 'command': '%e lsp',
  \ 'project_root': function('HandfulRoot'),
  \ 'initialization_options': get(g:, 'handful_settings', {}),
  \})
endfunction

autocmd VimEnter * if exists('*ale#linter#Define') || !empty(globpath(&runtimepath, 'autoload/ale/linter.vim')) | call s:Define() | endif
