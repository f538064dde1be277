"""A name for what a template fills in, from its expression: translators read it in the place of the value."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, TemplateSyntaxError, nodes

LONGEST = 40


@cache
def _jinja() -> Environment:
    return Environment()


@cache
def value_name(source: str) -> str:
    """What `{{ … }}` fills in: "photographs" for `{{ tally.photographs | counted("photograph") }}`; the words
    themselves, with bars between them, where one of several is chosen."""
    try:
        output = _jinja().parse(source).body[0]
    except (TemplateSyntaxError, IndexError):
        return "value"
    return _short(output.nodes[0] if isinstance(output, nodes.Output) else output)


@cache
def test_name(source: str) -> str:
    """What decides in `{% if … %}` or `{% elif … %}`, or what `{% for … %}` goes through."""
    word, _, rest = source.strip("{%- }").partition(" ")
    if word == "for":
        return _short(_jinja().parse(source + "{% endfor %}").body[0].iter)  # type: ignore[attr-defined]
    return _short(_jinja().parse("{% if " + rest + " %}{% endif %}").body[0].test)  # type: ignore[attr-defined]


def _short(node: nodes.Node) -> str:
    return (_said(node) or "value").translate(str.maketrans("", "", "{}<>"))[:LONGEST].strip()


def _said(node: nodes.Node) -> str:
    """The last word of an expression that says what it is about."""
    match node:
        case nodes.Const(value=str() as text):
            return text.strip(" .,:;")
        case nodes.Const(value=value):
            return str(value)
        case nodes.Name(name=name):
            return name
        case nodes.Getattr(attr=attr):
            return attr
        case nodes.Getitem(node=of, arg=nodes.Const(value=str() as key)):
            return key or _said(of)
        case nodes.Getitem(node=of, arg=nodes.Name(name=key)) if isinstance(of, nodes.Dict):
            return key
        case nodes.Getitem(node=of):
            return _said(of)
        case nodes.Filter(name="counted", args=[nodes.Const(value=one), *more]):
            return str(more[0].as_const()) if more else f"{one}s"
        case nodes.Filter(name="format", args=[of, *_]) | nodes.Call(node=nodes.Getattr(attr="format"), args=[of, *_]):
            return _said(of)
        case nodes.Filter(node=nodes.Node() as of):
            return _said(of)
        case nodes.Call(node=nodes.Getattr(node=of, attr="rpartition" | "partition" | "rsplit" | "split")):
            return _said(of)
        case nodes.Call(node=of):
            return _said(of)
        case nodes.CondExpr(expr1=one, expr2=other):
            return " | ".join(dict.fromkeys(filter(None, (_said(each) for each in (one, other) if each is not None))))
        case nodes.Compare(expr=one, ops=ops):
            return " ".join([_said(one), *(f"{_SIGNS.get(op.op, op.op)} {_said(op.expr)}" for op in ops)])
        case nodes.Not(node=of):
            return f"not {_said(of)}"
        case nodes.And(left=one, right=other):
            return f"{_said(one)} and {_said(other)}"
        case nodes.Or(left=one, right=other):
            return " or ".join(filter(None, (_said(one), _said(other))))
        case nodes.BinExpr(left=one, right=other):
            return _said(one) or _said(other)
        case nodes.Concat(nodes=parts) | nodes.List(items=parts) | nodes.Tuple(items=parts):
            return next(filter(None, map(_said, parts)), "")
        case nodes.Test(node=of):
            return _said(of)
        case _:
            return ""


_SIGNS = {"eq": "is", "ne": "is not", "gt": "more than", "lt": "less than", "gteq": "at least", "lteq": "at most",
          "in": "in", "notin": "not in"}  # fmt: skip
