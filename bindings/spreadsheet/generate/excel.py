"""The module of VBA that Excel reads: what loads the library, a function for each of the table's, help in the wizard."""

import pathlib

LOADING = pathlib.Path(__file__).resolve().parent.parent / "excel" / "loading.bas"

# What VBA keeps for itself of the words that arguments have.
RESERVED = frozenset("""abs addressof and any array as attribute boolean byref byte byval call case cdecl circle close const currency
date debug decimal declare dim do double each else elseif empty end endif enum eqv erase error event exit false fix for friend function
get global gosub goto if imp implements in input int integer is lbound len let like lock long longlong longptr loop lset me mod new next
not nothing null object on open option optional or paramarray preserve print private property pset public put raiseevent redim rem
resume return rset scale seek select set sgn shared single spc static stop string sub tab then to true type typeof ubound unlock until
variant wend while with withevents write xor""".split())


def identifier(argument):
    return argument.name + "_" if argument.name in RESERVED else argument.name


def quoted(text):
    assert text.isascii() and len(text) <= 255, f"Excel shows 255 plain characters: {text}"
    return '"' + text.replace('"', '""') + '"'


def _has_rest(one):
    return bool(one.arguments) and one.arguments[-1].kind == "rest"


def _parameters(one):
    names = [identifier(argument) for argument in one.arguments]
    if _has_rest(one):  # which allows no other to be optional
        return [*[f"ByVal {name} As Variant" for name in names[:-1]], f"ParamArray {names[-1]}() As Variant"]
    return [f"Optional ByVal {name} As Variant" for name in names]


def _attributes(one):
    return [f"Attribute {one.name}.VB_Description = {quoted(one.help)}",
            f'Attribute {one.name}.VB_ProcData.VB_Invoke_Func = " \\n14"']


def _body(one):
    values = [f"BwValues({identifier(argument)})" for argument in one.arguments]
    if not _has_rest(one):
        return [f'    {one.name} = BwShown("{one.name}", Array({_wrapped(values)}))']
    first, rest = len(values) - 1, identifier(one.arguments[-1])
    return ["    Dim BwGiven() As Variant, BwCount As Long", f"    ReDim BwGiven(0 To UBound({rest}) + {first})",
            *[f"    BwGiven({k}) = {value}" for k, value in enumerate(values[:-1])],
            f"    For BwCount = 0 To UBound({rest})", f"        BwGiven(BwCount + {first}) = BwValues({rest}(BwCount))", "    Next",
            f'    {one.name} = BwShown("{one.name}", BwGiven)']


def _wrapped(parts):
    return (", _\n" + " " * 8).join(", ".join(parts[i:i + 3]) for i in range(0, len(parts), 3))


def _function(one):
    return "\n".join([f"Public Function {one.name}({_wrapped(_parameters(one))}) As Variant", *_attributes(one), *_body(one),
                      "End Function", ""])


def _help(table):
    lines = ["Public Sub ButtonworthHelp()"]
    for one in table.functions:
        arguments = ", _\n".join(" " * 8 + quoted(argument.help) for argument in one.arguments)
        listed = f" _\n{arguments}" if arguments else ""
        lines.append(f'    BwTell "{one.name}", {quoted(one.help)}, Array({listed})')
    return "\n".join([*lines, "End Sub", ""])


def module(table, version):
    heading = (f'Attribute VB_Name = "Buttonworth"\n\' Buttonworth {version} in the cells of Excel, and for programs. Made from '
               "functions.json and loading.bas: do not edit.\n' 64-bit Excel for Windows; buttonworth.dll lies beside the workbook or "
               "add-in that holds this module.\n")
    functions = "\n".join(_function(one) for one in table.functions)
    return "\n".join([heading + LOADING.read_text(encoding="ascii"), functions, _help(table)])
