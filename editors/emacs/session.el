;;; session.el --- A headless session  -*- lexical-binding: t -*-
;; Opens a piece that cannot be played, reads what the server finds, applies its
;; first fix, and sees the finding gone.
;;   emacs --batch -L editors/emacs -l editors/emacs/session.el
(require 'cl-lib)
(require 'eglot)
(require 'handful-mode)

(defun session-say (&rest args)
  (princ (concat "emacs: " (apply #'format args) "\n")))

(defun session-await (what test)
  "Wait until TEST is not nil; WHAT is said when it never is."
  (let ((until (+ (float-time) 120)) got)
    (while (and (not (setq got (funcall test))) (< (float-time) until))
      (accept-process-output nil 0.05))
    (unless got
      (session-say "%s: %S" what (mapcar #'flymake-diagnostic-text (flymake-diagnostics)))
      (kill-emacs 1))
    got))

(defun session-finding ()
  (cl-find-if (lambda (d) (string-match-p "short-change" (format "%s %S" (flymake-diagnostic-text d) (flymake-diagnostic-data d))))
              (flymake-diagnostics)))

;; A line that is indented anew stays where the examples have it.
(let ((lines 0))
  (dolist (file (directory-files "examples" t "\\.handful\\'"))
    (with-temp-buffer
      (insert-file-contents file)
      (handful-mode)
      (while (not (eobp))
        (unless (looking-at "[ \t]*\\(#\\|$\\)")
          (let ((was (current-indentation)))
            (setq lines (1+ lines))
            (handful-indent-line)
            (unless (= was (current-indentation))
              (session-say "%s:%d is indented by %d" file (line-number-at-pos) (current-indentation))
              (kill-emacs 1))))
        (forward-line 1))))
  (unless (> lines 100) (kill-emacs 1))
  (session-say "%d lines of the examples stay where they are" lines))

(setq handful-command (list (getenv "HANDFUL") "lsp")
      eglot-sync-connect 120
      eglot-confirm-server-initiated-edits nil
      flymake-no-changes-timeout nil)
(find-file (getenv "PIECE"))
(session-say "version %s opened %s in %s" emacs-version (file-name-nondirectory buffer-file-name) mode-name)
(eglot-ensure)
(apply #'eglot--connect (eglot--guess-contact))
(eglot--maybe-activate-editing-mode)
(flymake-mode 1)
(let ((found (session-await "no short-change was shown" (lambda () (flymake-start) (session-finding)))))
  (session-say "line %d is underlined: %s" (line-number-at-pos (flymake-diagnostic-beg found))
               (string-trim (flymake-diagnostic-text found)))
  (goto-char (flymake-diagnostic-beg found))
  ;; What eldoc shows of the cue: the finding, with its arithmetic.
  (let ((shown (substring-no-properties
                (eglot--hover-info (plist-get (jsonrpc-request (eglot--current-server-or-lose) :textDocument/hover
                                                               (eglot--TextDocumentPositionParams)) :contents)))))
    (dolist (part '("short-change" "needed" "there is" "to spare" "MTM"))
      (unless (string-match-p part shown)
        (session-say "the hover does not say %s: %s" part shown)
        (kill-emacs 1)))
    (session-say "the hover shows the arithmetic"))
  (let* ((actions (jsonrpc-request (eglot--current-server-or-lose) :textDocument/codeAction
                                   (list :textDocument (eglot--TextDocumentIdentifier)
                                         :range (list :start (eglot--pos-to-lsp-position (point)) :end (eglot--pos-to-lsp-position (point)))
                                         :context (list :diagnostics []))))
         (first (and (> (length actions) 0) (elt actions 0))))
    (unless first
      (session-say "no fix was offered")
      (kill-emacs 1))
    (session-say "applying the first fix: %s" (plist-get first :title))
    (eglot--apply-workspace-edit (plist-get first :edit)))
  (eglot--signal-textDocument/didChange)
  (session-await "the finding is still there" (lambda () (flymake-start) (and (not (session-finding)) (flymake-diagnostics))))
  (session-say "it is gone; the line reads: %s" (buffer-substring (line-beginning-position) (line-end-position))))
;; What is offered behind a limb: a whole cue, checked.
(erase-buffer)
(insert "tempo 96\npart \"Percussion\"\n  woodblock | mf 1 3 | %\n  triangle  | - | 1\nplayer Ida\n"
        "  R woodblock clamped with rubber-mallet as written\n  L ")
(eglot--signal-textDocument/didChange)
(let ((offered (session-await
                "no whole cue is offered"
                (lambda ()
                  (let* ((capf (eglot-completion-at-point))
                         (list (all-completions "" (nth 2 capf)))
                         (annotate (plist-get (nthcdr 3 capf) :annotation-function))
                         (first (car (sort (copy-sequence list) (lambda (a b) (string-prefix-p "triangle clipped" a))))))
                    (and first (string-suffix-p "as written" first)
                         (string-match-p "checked:" (funcall annotate first))
                         (format "%s %s" (substring-no-properties first) (funcall annotate first))))))))
  (session-say "offered: %s" offered))
(ignore-errors (eglot-shutdown (eglot--current-server-or-lose)))
(set-buffer-modified-p nil)
;; A command that Go has installed is found where that is not on the path.
(let ((handful-command '("handful-by-go" "lsp")))
  (unless (equal (handful--command) (list (expand-file-name "~/go/bin/handful-by-go") "lsp"))
    (session-say "the command that Go has installed is not found: %S" (handful--command))
    (kill-emacs 1)))
;; A command that is not there is told in a sentence.
(let ((handful-command '("no-such-handful" "lsp")))
  (condition-case told
      (progn (apply #'eglot--connect (eglot--guess-contact))
             (session-say "a missing command is not told")
             (kill-emacs 1))
    (user-error (session-say "without the command: %s" (error-message-string told)))))
(session-say "done")
(kill-emacs 0)
