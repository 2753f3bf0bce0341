;;; handful-mode.el --- Percussion cues in .handful files  -*- lexical-binding: t -*-

;; Version: 1.0
;; Package-Requires: ((emacs "28.1"))
;; Keywords: languages

;;; Commentary:

;; A major mode for .handful files and, through Eglot, their language server:
;;
;;   (add-to-list 'load-path "…/editors/emacs")
;;   (require 'handful-mode)
;;   (add-hook 'handful-mode-hook #'eglot-ensure)
;;
;; Eglot is part of Emacs 29 and a package for earlier ones.  Findings are shown
;; as you type, M-x eglot-code-actions offers the fixes, M-x eldoc the
;; arithmetic, M-x handful-sheet what the players have to do.

;;; Code:

(require 'imenu)

(defgroup handful nil "Percussion cues." :group 'languages)

(defcustom handful-command '("handful" "lsp")
  "How the language server is started."
  :type '(repeat string))

(defcustom handful-profile nil
  "The profile of players who do not say one."
  :type '(choice (const nil) (const "student") (const "experienced") (const "professional")))

(defcustom handful-tempo nil
  "A share of the written tempo to suppose, such as \"110%\"."
  :type '(choice (const nil) string))

(defvar handful-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?- "w" table)
    (modify-syntax-entry ?\" "\"" table)
    table)
  "Syntax of `handful-mode'.")

(defface handful-right '((t :inherit font-lock-variable-name-face :weight bold))
  "Face of the right hand and the right foot.")

(defface handful-left '((t :inherit font-lock-constant-face :underline t))
  "Face of the left hand and the left foot.")

(defconst handful--blocks
  '("part" "player" "kit" "gear" "instrument" "implement")
  "The words that open a block.")

(defconst handful--margin
  '("title" "credit" "meter" "tempo" "hold" "break" "bars" "pickup" "mark" "printed"
                            "repeat" "ending" "vamp" "order" "use" "omit" "together" "accept" "part" "player"
                            "gear" "instrument" "implement")
  "The words of lines that stand in no block.")

(defconst handful--below
  '("R" "RF" "L" "LF" "R+L" "RL" "LR" "mouth" "any" "note" "cue" "kit" "from" "profile"
                            "reach" "fastest" "margin" "hands" "leads" "seated" "rolls" "holds" "damps" "likes"
                            "never")
  "The words of lines that stand below a player.")

(defconst handful-font-lock
  `((,(concat "^[ \t]*" (regexp-opt handful--blocks t) "\\_>")
     1 font-lock-builtin-face)
    (,(concat "^[ \t]*"
              (regexp-opt '("title" "credit" "note" "cue" "meter" "tempo" "hold" "break" "bars" "pickup" "mark" "printed"
                            "repeat" "ending" "vamp" "order" "use" "omit" "together" "accept" "from" "profile"
                            "reach" "fastest" "margin" "hands" "leads" "seated" "rolls" "holds" "damps" "likes"
                            "table" "station" "called" "also" "family" "sound" "midi" "glyph" "zone" "size" "height"
                            "fills" "over" "members" "row" "range" "octaves" "widths" "kettle" "tuning" "doubler"
                            "snares" "shares" "seat" "rings" "noise" "moves" "handling" "basis" "head" "weighs"
                            "butt" "length" "speaks" "stops" "never" "stands" "carry" "way")
                          t)
              "\\_>")
     1 font-lock-keyword-face)
    (,(concat "^[ \t]*" (regexp-opt '("R+L" "RL" "LR" "mouth" "any") t) "[ \t]") 1 font-lock-variable-name-face)
    (,(concat "^[ \t]*" (regexp-opt '("R" "RF") t) "[ \t]") 1 'handful-right)
    (,(concat "^[ \t]*" (regexp-opt '("L" "LF") t) "[ \t]") 1 'handful-left)
    (,(concat "\\_<"
              (regexp-opt '("ahead" "yes" "written" "with" "wheels" "up" "two" "turns" "to" "takes" "student" "strokes"
                            "stops" "stool" "stays" "softest" "soft" "silent" "shaken" "seated" "rolls" "right"
                            "published" "professional" "pass" "page" "over" "or" "one-handed" "one" "on" "of"
                            "nothing" "none" "no" "needs" "named" "much" "moves" "mouth" "medium" "matters" "mallets"
                            "loudest" "loud" "little" "light" "lever" "left" "least" "lays" "late" "knee" "keeps"
                            "itself" "is" "in" "holds" "heavy" "hard" "hands" "hand" "from" "four" "forearm"
                            "for" "foot" "feet" "facing" "experienced" "end" "easy" "down" "damps" "costs" "common-practice"
                            "chair" "careful" "by" "buzz" "butt" "both" "behind" "because" "awkward" "audible"
                            "at" "as" "apart" "and")
                          t)
              "\\_>")
     1 font-lock-keyword-face)
    (,(concat "\\_<" (regexp-opt '("held" "stand" "padded" "clipped" "clamped" "hung" "floor" "body") t) "\\_>")
     1 font-lock-type-face)
    ("|\\|%[0-9]*\\|~" 0 font-lock-builtin-face)
    (,(concat "[| ]" (regexp-opt '("pppp" "ppp" "pp" "p" "mp" "mf" "f" "ff" "fff" "ffff" "sf" "sfz" "sffz" "fz" "rf" "rfz"
                            "fp" "sfp" "cresc" "dim") t) "\\_>")
     1 font-lock-constant-face))
  "What `handful-mode' colours.")

(defun handful-indent-line ()
  "Indent by two below a line that opens a block, else not at all."
  (let ((depth (handful--depth)))
    (if (<= (current-column) (current-indentation))
        (indent-line-to depth)
      (save-excursion (indent-line-to depth)))))

(defun handful--depth ()
  "How far the line is to be indented."
  (save-excursion
    (beginning-of-line)
    (let ((one-of (lambda (words) (concat "\\(?:" (regexp-opt words) "\\)\\(?:[ \t]\\|$\\)"))))
      (cond ((looking-at (concat "[ \t]*" (funcall one-of handful--margin))) 0)
            ((looking-at (concat "[ \t]*" (funcall one-of handful--below)))
             (if (re-search-backward (concat "^" (funcall one-of (append handful--blocks handful--margin))) nil t)
                 (if (looking-at (funcall one-of handful--blocks)) 2 0)
               0))
            ((re-search-backward (concat "^[ \t]*" (funcall one-of (append handful--blocks handful--margin))) nil t)
             (if (looking-at (concat "[ \t]*" (funcall one-of handful--blocks))) (+ 2 (current-indentation)) 0))
            (t 0)))))

;;;###autoload
(define-derived-mode handful-mode prog-mode "Handful"
  "Major mode for percussion cues."
  (setq-local comment-start "# ")
  (setq-local comment-end "")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local syntax-propertize-function ; a # behind the letter of a note is a sharp
              (syntax-propertize-rules ("\\(?:[:+][A-Ga-g]\\|[ \t][A-G]\\)\\(#\\)\\(#?\\)[0-9]" (1 ".") (2 "."))))
  (setq-local font-lock-defaults '(handful-font-lock))
  (setq-local indent-line-function #'handful-indent-line)
  (setq-local tab-width 2)
  (setq-local indent-tabs-mode nil)
  (setq-local imenu-generic-expression
              '(("Parts" "^part +\\(.*\\)$" 1)
                ("Players" "^player +\\(.*\\)$" 1)
                ("Marks" "^mark +\\([^ ]+\\)" 1))))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.handful\\'" . handful-mode))

(defvar eglot-server-programs)
(declare-function eglot-current-server "eglot")
(declare-function eglot--TextDocumentIdentifier "eglot")
(declare-function jsonrpc-request "jsonrpc")

(defun handful--command ()
  "How the server is started: what is not on the path may be where Go installs."
  (let ((name (car handful-command)))
    (cons (or (and (or (executable-find name) (file-name-directory name)) name)
              (locate-file name (list (getenv "GOBIN") (concat (or (getenv "GOPATH") (expand-file-name "~/go")) "/bin")) nil #'file-executable-p)
              name)
          (cdr handful-command))))

(defun handful--server (&rest _)
  "How Eglot starts the server, with the settings."
  (unless (executable-find (car (handful--command)))
    (user-error "There is no command %s: put it on the path, or name it in handful-command" (car handful-command)))
  (append (handful--command)
          (list :initializationOptions
                (append (and handful-profile (list :profile handful-profile))
                        (and handful-tempo (list :tempo handful-tempo))))))

(defun handful--tell-all ()
  "Have M-x eldoc tell all there is, the reason of what is found among it."
  (when (derived-mode-p 'handful-mode)
    (setq-local eldoc-documentation-strategy #'eldoc-documentation-compose)))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs (cons 'handful-mode #'handful--server))
  (add-hook 'eglot-managed-mode-hook #'handful--tell-all))

;; The other client of the language server protocol.
(declare-function lsp-register-client "lsp-mode")
(declare-function make-lsp-client "lsp-mode")
(declare-function lsp-stdio-connection "lsp-mode")
(declare-function lsp-activate-on "lsp-mode")
(defvar lsp-language-id-configuration)

(defun handful--settings ()
  "The settings as an alist."
  (append (and handful-profile `((profile . ,handful-profile)))
          (and handful-tempo `((tempo . ,handful-tempo)))))

(with-eval-after-load 'lsp-mode
  (add-to-list 'lsp-language-id-configuration '(handful-mode . "handful"))
  (lsp-register-client
   (make-lsp-client :new-connection (lsp-stdio-connection #'handful--command
                                                          (lambda () (executable-find (car (handful--command)))))
                    :activation-fn (lsp-activate-on "handful")
                    :initialization-options #'handful--settings
                    :server-id 'handful)))

(defun handful--show (command &rest arguments)
  "Run COMMAND of the server on this buffer with ARGUMENTS and show its text."
  (require 'eglot)
  (let* ((uri (plist-get (eglot--TextDocumentIdentifier) :uri))
         (text (jsonrpc-request (eglot-current-server) :workspace/executeCommand
                                (list :command command :arguments (apply #'vector uri arguments)))))
    (with-current-buffer (get-buffer-create "*handful*")
      (let ((inhibit-read-only t))
        (erase-buffer)
        (insert text)
        (goto-char (point-min)))
      (special-mode)
      (display-buffer (current-buffer)))))

(defun handful-sheet ()
  "Show what the players of this file have to do."
  (interactive)
  (handful--show "handful.sheet"))

(defun handful-plan (players)
  "Show a plan of this file for so many PLAYERS."
  (interactive "nHow many players? ")
  (handful--show "handful.plan" (number-to-string players)))

(defun handful-export ()
  "Show this file as MusicXML."
  (interactive)
  (handful--show "handful.export" "musicxml"))

(provide 'handful-mode)
;;; handful-mode.el ends here
