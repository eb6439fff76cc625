"""What LibreOffice Calc is told of the functions: types, help in the function wizard, the package's lists."""

from xml.sax.saxutils import escape, quoteattr

HEADING = '<?xml version="1.0" encoding="UTF-8"?>\n<!-- Made from functions.json. Do not edit. -->\n'


def idl(table):
    methods = []
    for one in table.functions:
        arguments = ", ".join(
            f"[in] {'sequence<any>' if argument.kind == 'rest' else 'any'} {argument.identifier}" for argument in one.arguments)
        methods.append(f"    any {one.method}({arguments});\n")
    return (f"// Made from functions.json. Do not edit.\nmodule {table.module} {{\n"
            f"  interface X{table.service} : com::sun::star::uno::XInterface {{\n{''.join(methods)}  }};\n"
            f"  service {table.service} : X{table.service};\n}};\n")


def _prop(name, value, indent):
    return f'{indent}<prop oor:name="{name}"><value xml:lang="en">{escape(value)}</value></prop>\n'


def _function_node(one):
    indent = " " * 12
    parts = [f'{indent[:-2]}<node oor:name="{one.method}" oor:op="replace">\n',
             _prop("DisplayName", one.name, indent), _prop("Description", one.help, indent),
             f'{indent}<prop oor:name="Category"><value>Add-In</value></prop>\n',
             _prop("CompatibilityName", one.name, indent), f'{indent}<node oor:name="Parameters">\n']
    for argument in one.arguments:
        parts += [f'{indent}  <node oor:name="{argument.identifier}" oor:op="replace">\n',
                  _prop("DisplayName", argument.words, indent + "    "), _prop("Description", argument.help, indent + "    "),
                  f"{indent}  </node>\n"]
    return "".join(parts) + f"{indent}</node>\n{indent[:-2]}</node>\n"


def help_in_wizard(table):
    nodes = "".join(_function_node(one) for one in table.functions)
    return (HEADING + '<oor:component-data xmlns:oor="http://openoffice.org/2001/registry" '
            'xmlns:xs="http://www.w3.org/2001/XMLSchema" oor:name="CalcAddIns" oor:package="org.openoffice.Office">\n'
            f'  <node oor:name="AddInInfo">\n    <node oor:name="{table.module}.{table.service}" oor:op="replace">\n'
            f'      <node oor:name="AddInFunctions">\n{nodes}      </node>\n    </node>\n  </node>\n</oor:component-data>\n')


def components(table):
    service = f"{table.module}.{table.service}"
    return (HEADING + '<components xmlns="http://openoffice.org/2010/uno-components">\n'
            f'  <component loader="com.sun.star.loader.SharedLibrary" environment="gcc3" uri="{table.module}_cells.so">\n'
            f'    <implementation name="{service}Implementation" constructor="{table.module}_{table.service}_get_implementation">\n'
            f'      <service name="{service}"/>\n    </implementation>\n  </component>\n</components>\n')


def manifest(table):
    files = [("CalcAddIns.xcu", "configuration-data"), (f"{table.service}.rdb", "uno-typelibrary;type=RDB"),
             (f"{table.service}.components", "uno-components")]
    entries = "".join(f'  <manifest:file-entry manifest:full-path="{path}" manifest:media-type="application/vnd.sun.star.{kind}"/>\n'
                      for path, kind in files)
    return HEADING + f'<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">\n{entries}</manifest:manifest>\n'


def description(table, version, platform):
    identifier = f"{table.module}.{table.service}".lower()
    return (HEADING + '<description xmlns="http://openoffice.org/extensions/description/2006">\n'
            f'  <identifier value={quoteattr(identifier)}/>\n  <version value={quoteattr(version)}/>\n'
            f'  <platform value={quoteattr(platform)}/>\n  <display-name><name lang="en">Buttonworth</name></display-name>\n'
            '  <dependencies><l:LibreOffice-minimal-version value="7.4" d:name="LibreOffice 7.4" '
            'xmlns:l="http://libreoffice.org/extensions/description/2011" '
            'xmlns:d="http://openoffice.org/extensions/description/2006"/></dependencies>\n</description>\n')
