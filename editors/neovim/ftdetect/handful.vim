autocmd BufNewFile,BufRead *.handful setfiletype handful
