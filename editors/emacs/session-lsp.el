;;; session-lsp.el --- A headless session of lsp-mode  -*- lexical-binding: t -*-
;; Opens a piece that cannot be played, reads what the server finds, applies the
;; first fix, and sees the finding gone.
;;   emacs --batch -L editors/emacs -l editors/emacs/session-lsp.el
(require 'cl-lib)
(require 'lsp-mode)
(require 'handful-mode)

(defun session-say (&rest args)
  (princ (concat "emacs, lsp-mode: " (apply #'format args) "\n")))

(defun session-await (what test)
  "Wait until TEST is not nil; WHAT is said when it never is."
  (let ((until (+ (float-time) 120)) got)
    (while (and (not (setq got (funcall test))) (< (float-time) until))
      (accept-process-output nil 0.05))
    (unless got
      (session-say "%s: %S" what (session-found))
      (kill-emacs 1))
    got))

(defun session-found ()
  "What is found in this buffer, as the protocol has it."
  (gethash (lsp--fix-path-casing buffer-file-name) (lsp-diagnostics t)))

(defun session-finding ()
  (cl-find "short-change" (session-found) :key (lambda (d) (lsp-get d :code)) :test #'equal))

(setq handful-command (list (getenv "HANDFUL") "lsp")
      lsp-auto-guess-root t
      lsp-restart 'ignore
      lsp-enable-snippet nil
      lsp-modeline-workspace-status-enable nil
      lsp-modeline-diagnostics-enable nil
      lsp-modeline-code-actions-enable nil
      lsp-enable-suggest-server-download nil)
(find-file (getenv "PIECE"))
(lsp-workspace-folders-add (file-name-directory buffer-file-name))
(lsp)
(let ((found (session-await "no short-change was shown" #'session-finding)))
  (session-say "line %d is underlined: %s" (1+ (lsp-get (lsp-get (lsp-get found :range) :start) :line)) (lsp-get found :message))
  (goto-char (lsp--position-to-point (lsp-get (lsp-get found :range) :start)))
  (let ((shown (format "%S" (lsp-request "textDocument/hover" (lsp--text-document-position-params)))))
    (dolist (part '("short-change" "needed" "there is" "to spare"))
      (unless (string-match-p part shown)
        (session-say "the hover does not say %s: %s" part shown)
        (kill-emacs 1)))
    (session-say "the hover shows the arithmetic"))
  (let ((action (car (append (lsp-code-actions-at-point) nil))))
    (unless action
      (session-say "no fix was offered")
      (kill-emacs 1))
    (session-say "applying the first fix: %s" (lsp-get action :title))
    (lsp-execute-code-action action))
  (session-await "the finding is still there" (lambda () (and (not (session-finding)) (session-found))))
  (session-say "it is gone; the line reads: %s" (buffer-substring (line-beginning-position) (line-end-position))))
(set-buffer-modified-p nil)
(session-say "done")
(kill-emacs 0)
