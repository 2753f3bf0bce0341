package since

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What git itself says of each name is what is to be found, in a repository of
// loose objects, of packed ones, in a folder that is checked out beside it, and
// in a copy that takes its objects from it.
func TestNamesMeanWhatGitTakesThemFor(t *testing.T) {
	dir, run := repository(t)
	asked := func(dir, name string) string {
		out, err := exec.Command("git", "-C", dir, "rev-parse", "--verify", "-q", name+"^{commit}").Output()
		if err != nil {
			return ""
		}
		return strings.TrimSpace(string(out))
	}
	for _, text := range []string{"one\n", "two\n", "three\n"} {
		write(t, dir, "a", text)
		run("add", ".")
		run("commit", "-qm", text)
	}
	run("tag", "light", "HEAD~1")
	run("tag", "-a", "-m", "said", "heavy", "HEAD~1")
	run("tag", "-a", "-m", "said of a tag", "heavier", "heavy")
	run("checkout", "-qb", "side/way", "HEAD~2")
	write(t, dir, "b", "four\n")
	run("add", ".")
	run("commit", "-qm", "four")
	run("checkout", "-q", "main")
	run("merge", "-q", "-m", "both", "side/way")
	run("branch", "beef", "HEAD~1") // which might be digits
	run("branch", "light", "side/way")
	run("update-ref", "refs/remotes/origin/main", "HEAD~1")
	run("symbolic-ref", "refs/remotes/origin/HEAD", "refs/remotes/origin/main")
	tree, err := exec.Command("git", "-C", dir, "rev-parse", "HEAD^{tree}").Output()
	require.NoError(t, err)
	head := asked(dir, "HEAD")
	tag, err := exec.Command("git", "-C", dir, "rev-parse", "heavier").Output()
	require.NoError(t, err)

	names := []string{"HEAD", "@", "@~2", "main", "heads/main", "refs/heads/main", "light", "heads/light", "tags/light", "heavy", "heavier", "heavier~1",
		"side/way", "beef", "beef~1", "origin", "origin/main", "remotes/origin/main", "HEAD~", "HEAD^", "HEAD~2", "HEAD~02", "HEAD^2", "HEAD^^", "HEAD^2~1", "HEAD^2^",
		"HEAD^0", "HEAD~0", "heavy^{commit}", "heavy^{}", "heavy^{}~1", head, head + "~1", head[:4], head[:7], head[:10], head[:11] + "^2", strings.ToUpper(head[:9]),
		string(tag[:40]), string(tag[:12]), "light^1", "HEAD~1^1~1"}
	wrong := []string{"", "~1", "HEAD~9", "HEAD^3", "HEAD^2^2", "nonsense", "main~x", "HEAD~1x", "main:", head[:3], strings.Repeat("0", 40),
		string(tree[:40]), string(tree[:10]), "HEAD^{tree", "../HEAD", "HEAD~99999999999999999999"}
	check := func(dir, how string) {
		r, err := find(dir)
		require.NoError(t, err)
		for _, name := range names {
			want := asked(dir, name)
			require.NotEmpty(t, want, "git knows %s, %s", name, how)
			is, err := r.commitNamed(name)
			if assert.NoError(t, err, "%s, %s", name, how) {
				assert.Equal(t, want, is.String(), "%s, %s", name, how)
			}
		}
		for _, name := range wrong {
			require.Empty(t, asked(dir, name), "git does not know %s, %s", name, how)
			_, err := r.commitNamed(name)
			assert.Error(t, err, "%s, %s", name, how)
		}
	}
	check(dir, "loose")
	beside := filepath.Join(t.TempDir(), "beside")
	run("worktree", "add", "-q", "--detach", beside, "HEAD")
	check(beside, "beside")
	run("gc", "-q")
	check(dir, "packed")
	check(beside, "beside, packed")
	copied := filepath.Join(t.TempDir(), "copied")
	run("clone", "-q", "--shared", dir, copied)
	r, err := find(copied)
	require.NoError(t, err)
	is, err := r.commitNamed("origin/side/way")
	require.NoError(t, err)
	assert.Equal(t, asked(dir, "side/way"), is.String())

	_, err = r.commitNamed("HEAD^{tree}")
	assert.Error(t, err, "that is no commit")
	_, err = r.commitNamed("HEAD@{0}")
	assert.Error(t, err, "what is written aside of a branch is not looked into")
}

// What files a revision has is what git lists of it.
func TestFilesAreThoseThatGitLists(t *testing.T) {
	dir, run := repository(t)
	for _, name := range []string{"a", "b/c", "b/d/e", "b.c", "z/ä ö", "run"} {
		write(t, dir, name, "text of "+name+"\n")
	}
	require.NoError(t, os.Chmod(filepath.Join(dir, "run"), 0o755))
	run("add", ".")
	run("update-index", "--chmod=+x", "run")
	run("commit", "-qm", "first")
	listed, err := exec.Command("git", "-C", dir, "ls-tree", "-r", "-z", "HEAD").Output()
	require.NoError(t, err)
	want := map[string]string{}
	for line := range strings.SplitSeq(strings.TrimRight(string(listed), "\x00"), "\x00") {
		head, name, _ := strings.Cut(line, "\t")
		want[name] = strings.Fields(head)[2]
	}
	require.Len(t, want, 6)
	r, err := Open(dir, "HEAD")
	require.NoError(t, err)
	is := map[string]string{}
	for name, hash := range r.was {
		is[name] = hash.String()
	}
	assert.Equal(t, want, is)
}

// A repository in another format is refused, and what stands in for one too.
func TestWhatCannotBeRead(t *testing.T) {
	dir, run := repository(t)
	write(t, dir, "a", "one\n")
	run("add", ".")
	run("commit", "-qm", "first")
	run("config", "core.repositoryformatversion", "1")
	run("config", "extensions.worktreeConfig", "true")
	_, err := Open(dir, "HEAD")
	assert.NoError(t, err)
	run("config", "extensions.objectformat", "sha1")
	_, err = Open(dir, "HEAD")
	assert.NoError(t, err)
	run("config", "--unset", "extensions.objectformat")
	at := filepath.Join(dir, ".git", "config")
	text, err := os.ReadFile(at)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(at, append(text, "[extensions]\n\tobjectformat = sha256\n"...), 0o644))
	_, err = Open(dir, "HEAD")
	assert.ErrorContains(t, err, "sha256")
	require.NoError(t, os.WriteFile(at, []byte(strings.Replace(string(text), "repositoryformatversion = 1", "repositoryformatversion = 7", 1)), 0o644))
	_, err = Open(dir, "HEAD")
	assert.ErrorContains(t, err, `"7"`)

	other := t.TempDir()
	write(t, other, ".git", "something else\n")
	_, err = Open(other, "HEAD")
	assert.ErrorContains(t, err, "does not say where the repository is")
	write(t, other, ".git", "gitdir: nowhere\n")
	_, err = Open(other, "HEAD")
	assert.ErrorContains(t, err, "no git repository")
	empty := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(empty, ".git"), 0o755))
	_, err = Open(empty, "HEAD")
	assert.ErrorContains(t, err, "no git repository")
}
