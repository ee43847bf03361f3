"""Wrong use of the command line is told in the user's language, and completion is taught to every shell."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from reedpath.cli import main
from reedpath.cli.commands import app
from reedpath.cli.options import TitledOption


def told(capsys, *words: object) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main([str(word) for word in words])
    out, err = capsys.readouterr()
    return ended.value.code, out, err


@pytest.mark.parametrize(
    ("words", "english", "french"),
    [
        (["arrange"], "FILE is missing", "il manque FILE"),
        (["lesson", "a.abc"], "--out is missing", "il manque --out"),
        (
            ["arrange", "a.abc", "--shft", "2"],
            "there is no option called --shft",
            "aucune option ne s’appelle --shft",
        ),
        (["arrange", "a.abc", "--harp"], "--harp needs a value", "--harp demande une valeur"),
        (["harp", "A", "--a4", "x"], "'--a4': 'x' is not a number", "« --a4 » : « x » n’est pas un nombre"),
        (["survey", "a.abc", "--top", "1.5"], "'1.5' is not a whole number", "n’est pas un nombre entier"),
        (["harp", "Low", "F"], "these words mean nothing here: F", "ces mots n’ont pas de sens ici : F"),
        (["arrange", "a.abc", "--harp", "A", "--harp=D"], "--harp is given twice", "--harp est donné deux fois"),
        (["survey", "missing.abc"], "there is no such file", "ce fichier n’existe pas"),
        (["harp", "A", "--tuning", "nobody.toml"], "there is no such file", "ce fichier n’existe pas"),
        (["slow", "a.wav", "--out", "b.wav", "--from", "noon"], "is not a time", "n’est pas une durée"),
        (["film", "x", "--out", "y.mp4", "--turns", "mine"], "there are no turns named", "aucun tour de rôle"),
    ],
)
def test_wrong_use_is_told_in_the_language_asked_for_or_the_systems(capsys, monkeypatch, words, english, french):
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    status, out, err = told(capsys, *words)
    assert (status, out) == (2, "")
    assert english in err
    # the option comes before the words, so that it is not taken for a value that is missing
    status, out, err = told(
        capsys, words[0], "--language=fr" if words[0] != "lesson" else "--languages=fr", *words[1:]
    )
    assert (status, out) == (2, "")
    assert french in err.replace("\u202f", " ").replace("\u00a0", " ")
    assert english not in err
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    assert french in told(capsys, *words)[2].replace("\u202f", " ").replace("\u00a0", " ")


def test_an_unknown_command_is_told_and_so_is_a_fault_of_the_program(capsys, monkeypatch):
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    assert "aucune commande ne s’appelle" in told(capsys, "nonsense")[2]

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("reedpath.cli.harps.show_harp", broken)
    monkeypatch.delenv("REEDPATH_TRACE", raising=False)
    status, _, err = told(capsys, "harp", "A")
    assert status == 70
    assert "une erreur du programme" in err
    assert "ZeroDivisionError" in err


@pytest.mark.parametrize("name", list(app.commands))
def test_help_shows_every_option_once_and_its_meaning(capsys, name):
    status, out, _ = told(capsys, name, "--help")
    assert status == 0
    for param in app.commands[name].params:
        assert isinstance(param, (TitledOption, click.Argument))
        assert param.help is not None or param.secondary_opts
        written = param.opts[0] if isinstance(param, click.Option) else param.metavar
        assert out.count(f"  {written} ") + out.count(f"  {written}\n") == 1


@pytest.mark.parametrize(
    ("shell", "script", "starts"),
    [
        ("bash", ".config/reedpath/complete.bash", ".bashrc"),
        ("zsh", ".config/reedpath/complete.zsh", ".zshrc"),
        ("fish", ".config/fish/completions/reedpath.fish", None),
        ("powershell", ".config/reedpath/reedpath.ps1", ".config/powershell/profile.ps1"),
    ],
)
def test_a_shell_is_taught_once(capsys, monkeypatch, tmp_path, shell, script, starts):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    status, shown, _ = told(capsys, "--show-completion", shell)
    assert status == 0
    assert "_REEDPATH_COMPLETE" in shown
    for _ in range(2):
        status, out, _ = told(capsys, "--install-completion", shell)
        assert (status, out.strip()) == (0, str(tmp_path / script))
    assert (tmp_path / script).read_text() == shown.removesuffix("\n")
    if starts:
        assert (tmp_path / starts).read_text() == f'. "{tmp_path / script}"\n'


def test_the_users_shell_is_taught_where_none_is_named(capsys, monkeypatch):
    monkeypatch.setenv("SHELL", "/usr/bin/zsh")
    assert "#compdef reedpath" in told(capsys, "--show-completion")[1]
    monkeypatch.setenv("SHELL", "/bin/unheard-of")
    status, _, err = told(capsys, "--show-completion")
    assert status == 2
    assert "unheard-of" in err


def test_powershell_gets_one_word_a_line(monkeypatch, capsys):
    monkeypatch.setenv("_REEDPATH_COMPLETE", "powershell_complete")
    monkeypatch.setenv("COMP_WORDS", "reedpath sur")
    monkeypatch.setenv("COMP_LAST", "sur")
    assert told(capsys)[1].split() == ["survey"]


def test_a_user_whom_the_system_does_not_know_has_no_files_of_their_own(capsys, monkeypatch):
    def nobody():
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("REEDPATH_FOLDER", raising=False)
    monkeypatch.setenv("LC_ALL", "C")
    monkeypatch.setattr(Path, "home", nobody)
    assert told(capsys, "harp", "A")[0] == 0
    status, _, err = told(capsys, "harp", "A", "--tuning", "mine")
    assert (status, "there is no tuning named 'mine'" in err) == (2, True)
    status, _, err = told(capsys, "--install-completion", "bash")
    assert (status, "the folder cannot be written" in err) == (2, True)


def test_a_home_that_cannot_be_written_is_told(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("LC_ALL", "C")
    (tmp_path / "file").touch()
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "file")
    status, _, err = told(capsys, "--install-completion", "fish")
    assert (status, "file: the folder cannot be written: Not a directory" in err) == (2, True)
