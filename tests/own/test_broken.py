"""What is wrong with rules and questions: told by lint with file and line, refused elsewhere."""

import json

import pytest

import orchq
from orchq.errors import OrchqError

RULE, QUESTION = "no-col-legno.ttl", "our-loudness.rq"
INTO = "    FILTER (?value = oq:col-legno-battuto)"

RULES = {
    "no why": ("oq:whyItMatters", "skos:note", "rule-incomplete", "whyItMatters"),
    "no instead": ("oq:whatInstead", "skos:note", "rule-incomplete", "whatInstead"),
    "no good example": ("oq:goodExample", "skos:note", "rule-incomplete", "goodExample"),
    "no message": ('    sh:message "{?value} is not for our old bows"@en ;\n', "", None, "message"),
    "no basis": ("    oq:hasBasis oq:published ;\n", "", "rule-incomplete", "hasBasis"),
    "a source without its place": ('    oq:locator "section 4" ;\n', "", None, "locator"),
    "a basis without its source": (
        "    oq:accordingTo house:contract ;\n", "", "rule-source", "must name a source",
    ),
    "no remedy of the graph": ("remedy-take-sign-away", "remedy-wine", None, "no remedy"),
    "no source of the graph": ("house:contract", "house:nobody", None, "no source"),
    "no basis of the graph": ("oq:published", "oq:printed", None, "no basis"),
    "a slug of the core": ("house:no-col-legno a", "house:stop-hard a", "slug-taken", "core"),
    "a slug that is none": ("house:no-col-legno a", "house:NoLegno a", "slug-malformed", "slug"),
    "a name of the core": (
        "house:no-col-legno a", "<https://w3id.org/orchq/rule/my-rule> a", "rule-in-the-core",
        "your own namespace",
    ),
    "a shape without a name": (
        "oq:hasShape", "oq:hasShape [ a sh:NodeShape ] ,", None, "without an IRI",
    ),
    "a target without a place": (
        "sh:targetClass oq:PlayingState", "sh:targetClass oq:Note", "target-without-place",
        "oq:CheckedEvent",
    ),
    "another severity": ("sh:Violation", "sh:Catastrophe", "shape-incomplete", "Catastrophe"),
    "a second mechanism": (
        "    sh:severity sh:Violation ;", "    sh:severity sh:Violation ; sh:minCount 1 ;",
        "shape-not-shared", "minCount",
    ),
    "columns of one's own": (
        "$this ?value ?other ?limit WHERE", "$this ?mine WHERE", "query-head", "must begin",
    ),
    "what the engines do not share": (
        INTO, INTO + " MINUS { ?value oq:persists true }", "shape-not-shared", "MINUS",
    ),
    "a group of its own": (INTO, f"{{ {INTO} }}", "shape-not-shared", "braces"),
    "chance": (INTO, "    FILTER (RAND() < 0.5)", "shape-not-shared", "RAND"),
    "a prefix that nobody declares": (
        INTO, "    FILTER (?value = nix:thing)", "prefix-undeclared", "nix:",
    ),
    "a query that does not parse": (INTO, "    FILTER (?value =", "query-not-sparql", "SPARQL"),
    "a term misspelt in a query": (
        "$this oq:usesTechnique", "$this oq:usesTechnic", "undefined-term", "mean oq:usesTechnique",
    ),
    "a term misspelt at the rule": ("oq:badExample", "oq:bedExample", None, "mean oq:badExample"),
    "a message that names nothing": ("{?value} is not", "{?where} is not", None, "?where"),
    "a message that names the node in focus": (
        "{?value} is not", "{$this} is not", "message-names-nothing", "orchq rules may not use it",
    ),
    "the shape itself": (
        INTO, "    FILTER (?value != $currentShape)", "shape-not-shared", "may not use it",
    ),
    "the shapes": (INTO, "    FILTER (?value != $shapesGraph)", "shape-not-shared", "may not use"),
    "a path that is put in": (INTO, "    $this $PATH ?other .", "shape-not-shared", "may not use"),
    "something else in the file": (
        "house:no-col-legno-violation a sh:NodeShape",
        "house:me a oq:Source .\n\nhouse:no-col-legno-violation a sh:NodeShape",
        "not-of-a-rule",
        "neither a rule",
    ),
}  # fmt: skip

QUESTIONS = {
    "no words": ("# How soft and how loud does our house want a technique?\n", "", None, "words"),
    "no example": ("# examples\n", "#\n", "question-head", "example"),
    "an unknown kind": ("technique?   this", "thimble?   this", "question-head", "thimble"),
    "a kind that code answers": ("technique?   this", "pitches?   this", None, "pitches"),
    "code": ("# examples", "# computed by\n#   my.module\n# examples", None, "computed by"),
    "a column that is not selected": ("?steps ?limit", "?limit", "column-not-selected", "steps"),
    "a parameter that is not selected": (
        "SELECT $on $technique", "SELECT $on ?technique_ ", "parameter-not-selected", "technique",
    ),
    "a column whose name is taken": ("#   steps ", "#   evidence ", "question-head", "evidence"),
    "no question": ("SELECT $on $technique ?softest ?loudest ?steps ?limit WHERE", "ASK", None,
                    "SELECT"),
    "a query that does not parse": ("BIND (?high - ?low", "BIND (?high - ", None, "SPARQL"),
    "a prefix that nobody declares": ("PREFIX house:", "PREFIX hose:", "prefix-undeclared",
                                      "house:"),
    "a term misspelt": ("oq:softest ?softest", "oq:softist ?softest", None, "mean oq:softest"),
    "a sign that cannot be shown": ("# How soft", "# \u202eHow soft", "question-head", "shown"),
}  # fmt: skip


def linted(run, folder):
    code, out, err = run("lint", folder, "--format", "json")
    assert (code, err) == (1, "")
    return {file["file"]: file["findings"] for file in json.loads(out)["files"]}


@pytest.mark.sampled(12, "nightly")
@pytest.mark.parametrize("name", RULES)
def test_lint_tells_what_is_wrong_with_a_rule(name, run, house):
    old, new, kind, word = RULES[name]
    path = house(rule=(old, new)) / RULE
    findings = linted(run, path.parent)[str(path)]
    told = [f for f in findings if word in f["message"] and kind in (None, f["rule"])]
    assert told, findings
    assert all(finding["line"] for finding in findings)


@pytest.mark.sampled(12, "nightly")
@pytest.mark.parametrize("name", [each for each in RULES if "misspelt in" not in each])
def test_a_broken_rule_is_refused_before_any_score_is_read(name, run, house, passage):
    old, new, _, word = RULES[name]
    folder = house(rule=(old, new))
    code, out, err = run("check", passage, "--with", folder, "--no-settings")
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert f"{folder / RULE}:" in err
    assert word.rstrip("?") in err or "misspelt" in name


@pytest.mark.sampled(8, "nightly")
@pytest.mark.parametrize("name", QUESTIONS)
def test_lint_tells_what_is_wrong_with_a_question(name, run, house):
    old, new, kind, word = QUESTIONS[name]
    path = house(question=(old, new)) / QUESTION
    findings = linted(run, path.parent)[str(path)]
    told = [f for f in findings if word in f["message"] and kind in (None, f["rule"])]
    assert told, findings
    assert all(finding["line"] for finding in findings)


@pytest.mark.sampled(8, "nightly")
@pytest.mark.parametrize("name", [each for each in QUESTIONS if "misspelt" not in each])
def test_a_broken_question_is_refused(name, run, house):
    old, new, _, word = QUESTIONS[name]
    folder = house(question=(old, new))
    code, out, err = run("ask", "our-loudness", "--on", "violin", "--with", folder)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert f"{folder / QUESTION}:" in err
    assert word in err
    assert run("ask", "levels", "--with", folder)[0] == 0  # those of the core can still be asked


@pytest.mark.long
def test_the_line_is_that_of_the_fault(run, house):
    folder = house(rule=(INTO, "    FILTER (?value =\n        nix:thing)"))
    text = (folder / RULE).read_text(encoding="utf-8").splitlines()
    line = next(n for n, each in enumerate(text, 1) if "nix:thing" in each)
    (finding,) = linted(run, folder)[str(folder / RULE)]
    assert (finding["rule"], finding["line"]) == ("prefix-undeclared", line)
    folder = house(rule=(INTO, "    ?value oq:rank ?rank .\n    ?rank oq:rank ."))
    text = (folder / RULE).read_text(encoding="utf-8").splitlines()
    line = next(n for n, each in enumerate(text, 1) if "oq:rank ." in each)
    (finding,) = linted(run, folder)[str(folder / RULE)]
    assert (finding["rule"], finding["line"]) == ("query-not-sparql", line)
    folder = house(question=("?softest oq:rank ?low .", "?softest oq:rank ."))
    text = (folder / QUESTION).read_text(encoding="utf-8").splitlines()
    line = next(n for n, each in enumerate(text, 1) if "oq:rank ." in each)
    (finding,) = linted(run, folder)[str(folder / QUESTION)]
    assert (finding["rule"], finding["line"]) == ("query-not-sparql", line)


@pytest.mark.long
def test_a_question_without_a_limit_is_a_warning_and_can_be_asked(run, house):
    folder = house(question=("?steps ?limit WHERE", "?steps WHERE"))
    code, out, _ = run("lint", folder)
    assert code == 0
    assert "question-without-limit" in out
    assert run("ask", "our-loudness", "--on", "violin", "--with", folder)[0] == 0


@pytest.mark.long
def test_a_question_of_the_core_is_not_replaced(run, house):
    folder = house()
    (folder / QUESTION).rename(folder / "bow.rq")
    assert "slug-taken" in run("lint", folder)[1]
    code, _, err = run("ask", "--list", "--with", folder)
    assert code == 2
    assert "bow is a question of the core already" in err


def test_two_extensions_with_one_rule(house, tmp_path):
    first = house()
    (tmp_path / "copy.ttl").write_bytes((first / RULE).read_bytes())
    with pytest.raises(OrchqError, match="no-col-legno is defined twice"):
        orchq.catalogue(orchq.load([first, tmp_path / "copy.ttl"]))


@pytest.mark.long
def test_a_name_that_is_no_slug(run, house):
    folder = house()
    (folder / QUESTION).rename(folder / "Our Loudness.rq")
    assert "slug-malformed" in run("lint", folder)[1]


@pytest.mark.long
@pytest.mark.parametrize("format_", ["text", "json", "sarif"])
def test_each_format_of_lint_names_the_file(run, house, format_):
    folder = house(rule=("oq:whyItMatters", "skos:note"))
    code, out, _ = run("lint", folder, "--format", format_)
    assert code == 1
    assert RULE in out
    assert "rule-incomplete" in out
