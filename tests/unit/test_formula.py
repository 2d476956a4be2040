"""Laws of the rule language: the trees of formulas, and what is refused, and where."""

from __future__ import annotations

import math

import pytest

from configlint.formula import (
    Apply,
    FormulaError,
    LookUp,
    Name,
    Node,
    Number,
    Span,
    Text,
    Texts,
    children,
    names,
)
from configlint.parser import parse_formula


def shape(node: Node) -> object:
    """Give a tree without its spans, for comparison."""
    match node:
        case Number(value, unit, _):
            return (value, unit) if unit else value
        case Text(text, _):
            return repr(text)
        case Texts(texts, _):
            return list(texts)
        case Name(path, _):
            return path
        case LookUp(table, key, column, _):
            return (table, shape(key), column)
        case Apply(symbol, operands, _):
            return (symbol, *map(shape, operands))


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("a", "a"),
        ("sensor.bore", "sensor.bore"),
        ("receiver.analogue.upper_scale", "receiver.analogue.upper_scale"),
        ("12", 12.0),
        ("1e3", 1000.0),
        ("0.3[m/s]", (0.3, "m/s")),
        ("3 [mm]", (0.003, "mm")),
        ("1e3[mm]", (1.0, "mm")),
        ("1.5e-3[m]", (0.0015, "m")),
        ("5.[m]", (5.0, "m")),
        (".5[m]", (0.5, "m")),
        ("2[ % ]", (0.02, "%")),
        ("7[µS/cm]", (0.0007, "µS/cm")),
        ("'a'", "'a'"),
        ('"a"', "'a'"),
        ("['a', 'b']", ["a", "b"]),
        ("('a', 'b')", ["a", "b"]),
        ("a + b - c", ("-", ("+", "a", "b"), "c")),
        ("a * b / c", ("/", ("*", "a", "b"), "c")),
        ("a + b * c", ("+", "a", ("*", "b", "c"))),
        ("-a", ("negative", "a")),
        ("-3", ("negative", 3.0)),
        ("-3[m]", (-3.0, "m")),
        ("-5[degC]", (268.15, "degC")),
        ("- 5 [degC]", (268.15, "degC")),
        ("-(5[degC])", (268.15, "degC")),
        ("a**2", ("**", "a", 2.0)),
        ("a**-0.5", ("**", "a", -0.5)),
        ("-a**2", ("negative", ("**", "a", 2.0))),
        ("a < b", ("<", "a", "b")),
        ("a <= b < c", ("and", ("<=", "a", "b"), ("<", "b", "c"))),
        ("a == b", ("==", "a", "b")),
        ("a != b", ("!=", "a", "b")),
        ("a > b", (">", "a", "b")),
        ("a >= b", (">=", "a", "b")),
        ("a in ['x']", ("in", "a", ["x"])),
        ("a not in ['x']", ("not in", "a", ["x"])),
        ("not a", ("not", "a")),
        ("a and b and c", ("and", "a", "b", "c")),
        ("a or b and not c", ("or", "a", ("and", "b", ("not", "c")))),
        ("a if b else c", ("if", "b", "a", "c")),
        ("min(a, b, c)", ("min", "a", "b", "c")),
        ("sqrt(a)", ("sqrt", "a")),
        ("given(a.b)", ("given", "a.b")),
        ("agrees(a, b)", ("agrees", "a", "b")),
        ("sizes[a.b].bore", ("sizes", "a.b", "bore")),
        ("sizes['DN 100'].bore", ("sizes", "'DN 100'", "bore")),
        ("duties2[a].v", ("duties2", "a", "v")),
        ("matches(a, 'F[0-9]{2}[A-Z]')", ("matches", "a", "'F[0-9]{2}[A-Z]'")),
        ("a == 'no. 5[m]'", ("==", "a", "'no. 5[m]'")),
        ('a == "12[3]" and b > 1[m]', None),
        ("  a  ", "a"),
        ("((a))", "a"),
        ("a\n+\tb", ("+", "a", "b")),
        ("a + 1if b else c", ("if", "b", ("+", "a", 1.0), "c")),
    ],
)
def test_a_formula_has_its_tree(text: str, tree: object) -> None:
    """Every form of the grammar gives the tree that its operators say."""
    if tree is None:
        tree = ("and", ("==", "a", "'12[3]'"), (">", "b", (1.0, "m")))
    found = shape(parse_formula(text))
    assert found == pytest.approx(tree) if isinstance(tree, float) else found == tree


@pytest.mark.parametrize(
    ("text", "part", "marked"),
    [
        ("7[µS/cm] < a", 0, "7[µS/cm]"),
        ("7[µS/cm] < a", 1, "a"),
        ("  a.b + (c - d)", 1, "c - d"),
        ("'größe' == tag", 1, "tag"),
        ("'größe' == tag", 0, "'größe'"),
    ],
)
def test_a_node_knows_its_place(text: str, part: int, marked: str) -> None:
    """A node's span cuts its own text out of the formula, in whole characters."""
    tree = parse_formula(text)
    assert isinstance(tree, Apply)
    assert text[slice(*tree.operands[part].span)] == marked


# A wrong formula, the beginning of what is said of it, and what the mark is under.
WRONG = [
    ("", "the formula is empty", ""),
    ("   ", "the formula is empty", " "),
    ("a <", "the formula breaks off or goes wrong here", "<"),
    ("(a", "the formula breaks off or goes wrong here", "("),
    ("a b", "the formula breaks off or goes wrong here", "b"),
    ("a = b", "the formula breaks off or goes wrong here", "="),
    ("a; b", "the formula breaks off or goes wrong here", ";"),
    ("'a", "the formula breaks off or goes wrong here", "'"),
    ("3[]", "the formula breaks off or goes wrong here", "]"),
    ("٣ < a", "the formula breaks off or goes wrong here", "٣"),
    ("a # b", "a remark has no place in a formula", "# b"),
    ("(a) # b", "a remark has no place in a formula", "# b"),
    ("'\\x41'", "a backslash or a threefold quote has no place", "\\"),
    ("'''a'''", "a backslash or a threefold quote has no place", "'''"),
    ('"""a"""', "a backslash or a threefold quote has no place", '"""'),
    ("3[m/z]", "'m/z' is no known spelling of a unit", "3[m/z]"),
    ("3[mm", "the formula breaks off or goes wrong here", "["),
    ("3[ ]", "square brackets hold a unit right behind a number", "3[ ]"),
    ("(3)[m]", "square brackets hold a unit right behind a number", "(3)[m]"),
    ("0x3[m]", "square brackets hold a unit right behind a number", "0x3[m]"),
    ("'a'[b]", "square brackets hold a unit right behind a number", "'a'[b]"),
    ("a.b[c]", "square brackets hold a unit right behind a number", "a.b[c]"),
    ("3[m][s]", "square brackets hold a unit right behind a number", "3[m][s]"),
    ("1_000", "'1_000' has separators between digits", "1_000"),
    ("0x10", "'0x10' is not an amount", "0x10"),
    ("1e99", "'1e99' is outside the numbers that can be meant", "1e99"),
    ("-300[degC]", "'-300 degC' is below absolute zero", "-300[degC]"),
    ("--5[degC]", "'--5 degC' is not an amount", "--5[degC]"),
    ("3j", "the rule language does not have this form", "3j"),
    ("None", "the rule language does not have this form", "None"),
    ("...", "the rule language does not have this form", "..."),
    ("b'a'", "the rule language does not have this form", "b'a'"),
    ("+a", "the rule language does not have this form", "+a"),
    ("~a", "the rule language does not have this form", "~a"),
    ("a == True", "a formula does not compare with True or False", "True"),
    ("a + lambda: b", "the formula breaks off or goes wrong here", "l"),
    ("lambda: b", "the rule language does not have a function of one's own", "*"),
    ("[a for a in b]", "the rule language does not have a loop", "*"),
    ("max(a for a in b)", "the rule language does not have a loop", "(a for a in b)"),
    ("{'a': 1}", "the rule language does not have a mapping", "*"),
    ("{'a'}", "the rule language does not have a set", "*"),
    ("f'{a}'", "the rule language does not have a text with parts to fill in", "*"),
    ("(a := b)", "the rule language does not have an assignment", "a := b"),
    ("min(*a, b)", "the rule language does not have a star", "*a"),
    ("sizes[a:b].c", "the rule language does not have a slice", "a:b"),
    ("(yield a)", "the rule language does not have this form", "yield a"),
    ("{**a}", "the rule language does not have a mapping", "*"),
    ("a // b", "the rule language calculates with + - * / ** only", "*"),
    ("a % b", "the rule language calculates with + - * / ** only", "*"),
    ("a | b", "the rule language calculates with + - * / ** only", "*"),
    ("a < b is c", "values are not compared with `is`", "b is c"),
    ("a is not b", "values are not compared with `is`", "*"),
    ("a**b", "an exponent is a plain number up to 6", "b"),
    ("a**7", "an exponent is a plain number up to 6", "7"),
    ("a**2[%]", "an exponent is a plain number up to 6", "2[%]"),
    ("a**-b", "an exponent is a plain number up to 6", "-b"),
    ("2**2**2", "an exponent is a plain number up to 6", "2**2"),
    ("['a', b]", "a list holds texts only", "b"),
    ("['a' 'b']", "a text is one pair of quotes", "'a' 'b'"),
    ("u'a'", "a text is one pair of quotes", "u'a'"),
    ("r'a'", "a text is one pair of quotes", "r'a'"),
    ("[1]", "a list holds texts only", "1"),
    ("a, b", "a list holds texts only", "a"),
    ("'a'.b", "only a name or a look-up has parts", "*"),
    ("sizes[a].b.c", "only a name or a look-up has parts", "*"),
    ("min(a, b).c", "only a name or a look-up has parts", "*"),
    ("eval(a)", "there is no function eval", "*"),
    ("__import__('os')", "there is no function __import__", "*"),
    ("negative(a)", "there is no function negative", "*"),
    ("a.b(c)", "there is no function of this form", "*"),
    ("min(a)(b)", "there is no function of this form", "*"),
    ("sqrt()", "sqrt takes 1 value", "*"),
    ("sqrt(a, b)", "sqrt takes 1 value", "*"),
    ("min(a)", "min takes 2 to 20 values", "*"),
    ("agrees(a)", "agrees takes 2 values", "*"),
    ("sqrt(x=a)", "sqrt takes values without names", "*"),
    ("given(1)", "given takes names of values only", "*"),
    ("agrees(a, 1[m])", "agrees takes names of values only", "*"),
    ("matches(a, b)", "this is no regular expression", "b"),
    ("matches(a, '(')", "this is no regular expression", "'('"),
    ("matches(a, 'a{99999999999}')", "this is no regular", "'a{99999999999}'"),
    ("matches(a, '[[a]')", "this is no regular expression", "'[[a]'"),
]


@pytest.mark.parametrize(("text", "problem", "marked"), WRONG)
def test_a_wrong_formula_is_refused_where_it_is_wrong(
    text: str, problem: str, marked: str
) -> None:
    """What is not of the language is refused with a sentence, a mark and advice."""
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    error = caught.value
    assert error.problem.startswith(problem)
    assert text[slice(*error.span)] == (text if marked == "*" else marked)
    assert error.advice.endswith(".")


def test_the_mark_stands_under_the_fault() -> None:
    """An error shows the formula in one line and, below it, a mark of its width."""
    with pytest.raises(FormulaError) as caught:
        parse_formula("a <\n3[m/z]")
    assert caught.value.marked() == "a < 3[m/z]\n    ^^^^^^"
    assert str(caught.value).endswith(caught.value.marked())
    assert FormulaError("a", Span(1, 1), "b", "c").marked() == "a\n ^"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("a" * 801, "the formula has more than 800 characters"),
        ("(" * 10**6, "the formula has more than 800 characters"),
        ("a" + " + a" * 199, "the formula is too large or nested too deeply"),
        ("a<" * 399 + "a", "the formula is too large or nested too deeply"),
        ("a and " * 49 + "a", None),
        ("a and " * 50 + "a", "and takes 2 to 50 values"),
        ("not " * 45 + "a", "the formula is too large or nested too deeply"),
        ("-" * 799 + "a", "the formula is"),
        ("a" + ".a" * 60, "the formula is too large or nested too deeply"),
        ("(" * 150 + "a < b" + ")" * 150, None),
        ("(" * 300 + "a" + ")" * 300, "the formula"),
        ("9" * 800, "'999"),
        ("a\0b", "the formula breaks off or goes wrong here"),
        ("a\ud800b", "the formula is nested too deeply or holds a character"),
    ],
)
def test_a_formula_keeps_within_bounds(text: str, problem: str | None) -> None:
    """Too long, too large and too deep formulas are refused, with a short mark."""
    if problem is None:
        assert isinstance(parse_formula(text), Apply)
        return
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    assert caught.value.problem.startswith(problem)
    assert len(str(caught.value)) < 2500


def test_children_and_names_are_found_from_left_to_right() -> None:
    """Every name of a tree is found, inside look-ups too, in its order."""
    tree = parse_formula("a + sizes[b.c].bore * -3[m] if d in ['x'] else a")
    assert list(names(tree)) == ["d", "a", "b.c", "a"]
    assert isinstance(tree, Apply)
    assert tuple(children(tree)) == tree.operands
    assert list(children(Text("a", Span(0, 1)))) == []


def test_a_constant_is_computed_in_si() -> None:
    """A constant's amount is in SI base units, by the table of spellings."""
    tree = parse_formula("3.6[m3/h]")
    assert isinstance(tree, Number)
    assert math.isclose(tree.value, 0.001, rel_tol=1e-15)
