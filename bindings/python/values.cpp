#include "values.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <memory>
#include <string_view>

#include "buttonworth.hpp"

namespace {

struct LetGo {
  void operator()(PyObject* object) const { Py_DECREF(object); }
};
using Held = std::unique_ptr<PyObject, LetGo>;

/// What a call of Python gave.
Held held(PyObject* object) {
  if (object == nullptr) throw Raised{};
  return Held(object);
}
Held held_too(PyObject* borrowed) {
  Py_INCREF(borrowed);
  return Held(borrowed);
}
void must(int result) {
  if (result < 0) throw Raised{};
}

/// A function of a module of Python's.
Held imported(const char* module, const char* name) {
  return held(PyObject_GetAttrString(held(PyImport_ImportModule(module)).get(), name));
}

constexpr int deepest = 512;  // the most that a context's limit can be set to

// ---- From JSON -----------------------------------------------------------------------------------

/// Reads what the library wrote, which is JSON in order. json.loads takes twice as long.
class AnswerReader {
 public:
  AnswerReader(const char* text, std::size_t size) : at_(text), end_(text + size) {}

  Held whole() {
    Held all = value();
    skip_space();
    if (at_ != end_) fault();
    return all;
  }

 private:
  [[noreturn]] static void fault() { caller::fail(BW_INTERNAL, "the answer's text is not as it should be"); }

  char peek() {
    skip_space();
    if (at_ == end_) fault();
    return *at_;
  }
  void skip_space() {
    while (at_ != end_ && (*at_ == ' ' || *at_ == '\n' || *at_ == '\t' || *at_ == '\r')) ++at_;
  }
  /// Whether this comes next; it is then passed.
  bool passed(char wanted) {
    if (peek() != wanted) return false;
    ++at_;
    return true;
  }
  void expect(char wanted) {
    if (!passed(wanted)) fault();
  }

  Held value() {
    switch (peek()) {
      case '{': return object();
      case '[': return list();
      case '"': return text();
      case 't': return word("true", Py_True);
      case 'f': return word("false", Py_False);
      case 'n': return word("null", Py_None);
      default: return number();
    }
  }
  Held object() {
    const Deeper deeper(depth_);
    Held all = held(PyDict_New());
    ++at_;
    if (passed('}')) return all;
    do {
      if (peek() != '"') fault();
      const Held key = name();
      expect(':');
      must(PyDict_SetItem(all.get(), key.get(), value().get()));
    } while (passed(','));
    expect('}');
    return all;
  }
  Held list() {
    const Deeper deeper(depth_);
    Held all = held(PyList_New(0));
    ++at_;
    if (passed(']')) return all;
    do must(PyList_Append(all.get(), value().get()));
    while (passed(','));
    expect(']');
    return all;
  }
  Held word(std::string_view wanted, PyObject* meant) {
    if (!std::string_view(at_, static_cast<std::size_t>(end_ - at_)).starts_with(wanted)) fault();
    at_ += wanted.size();
    return held_too(meant);
  }
  Held number() {
    const char* first = at_;
    bool whole = true;
    for (; at_ != end_ && std::strchr("+-.0123456789eE", *at_) != nullptr; ++at_)
      whole = whole && std::strchr(".eE", *at_) == nullptr;
    const std::string digits(first, at_);
    if (whole) return held(PyLong_FromString(digits.c_str(), nullptr, 10));
    const double number = PyOS_string_to_double(digits.c_str(), nullptr, nullptr);
    if (PyErr_Occurred()) throw Raised{};
    return held(PyFloat_FromDouble(number));
  }

  /// What stands between quotes, still escaped; whether any sign of it is.
  std::string_view between_quotes(bool& escaped) {
    const std::string_view rest(at_ + 1, static_cast<std::size_t>(end_ - at_) - 1);
    std::size_t size = std::min(rest.find('"'), rest.size());
    const std::size_t first_escape = rest.substr(0, size).find('\\');
    escaped = first_escape != rest.npos;
    if (escaped)
      for (size = first_escape; size < rest.size() && rest[size] != '"';) size += rest[size] == '\\' ? 2 : 1;
    if (size >= rest.size()) fault();
    at_ = rest.data() + size + 1;
    return rest.substr(0, size);
  }
  static Held text_of(std::string_view inner, bool escaped) {
    const auto size = static_cast<Py_ssize_t>(inner.size());
    if (!escaped) return held(PyUnicode_DecodeUTF8(inner.data(), size, nullptr));
    // Seldom enough to be left to Python.
    return held(PyObject_CallFunction(imported("json", "loads").get(), "s#", inner.data() - 1, size + 2));
  }
  Held text() {
    bool escaped = false;
    const std::string_view inner = between_quotes(escaped);
    return text_of(inner, escaped);
  }
  /// The few names that an answer has are each made once.
  Held name() {
    bool escaped = false;
    const std::string_view inner = between_quotes(escaped);
    if (escaped || inner.empty()) return text_of(inner, escaped);
    const auto sign = [](char byte) { return static_cast<unsigned char>(byte); };
    Known& known = known_[(inner.size() * 31 + sign(inner.front()) * 7 + sign(inner.back())) % known_.size()];
    if (!known.text || known.inner != inner) known = {inner, text_of(inner, false)};
    return held_too(known.text.get());
  }

  class Deeper {
   public:
    explicit Deeper(int& depth) : depth_(depth) {
      if (depth_ == deepest) caller::fail(BW_DOCUMENT_JSON, "the document is nested too deeply");
      ++depth_;
    }
    ~Deeper() { --depth_; }
    Deeper(const Deeper&) = delete;
    Deeper& operator=(const Deeper&) = delete;

   private:
    int& depth_;
  };
  struct Known {
    std::string_view inner;
    Held text;
  };

  const char* at_;
  const char* end_;
  int depth_ = 0;
  std::array<Known, 256> known_;
};

// ---- To JSON -------------------------------------------------------------------------------------

/// A value's place in the document, as far as it is known; made a pointer only for an error.
struct Place {
  const Place* outer;
  std::string_view name;
  Py_ssize_t index;
  int depth;

  std::string pointer() const {
    if (outer == nullptr) return std::string(name);
    return outer->pointer() + (name.data() == nullptr ? '/' + std::to_string(index) : bw::step(name));
  }
};

/// Text as UTF-8. Lone surrogates go along: it is the library that says what is wrong with them.
class Utf8 {
 public:
  explicit Utf8(PyObject* text) {
    Py_ssize_t size = 0;
    const char* bytes = PyUnicode_AsUTF8AndSize(text, &size);
    if (bytes == nullptr) {
      PyErr_Clear();
      encoded_ = held(PyUnicode_AsEncodedString(text, "utf-8", "surrogatepass"));
      bytes = PyBytes_AS_STRING(encoded_.get());
      size = PyBytes_GET_SIZE(encoded_.get());
    }
    view_ = {bytes, static_cast<std::size_t>(size)};
  }
  std::string_view view() const { return view_; }

 private:
  Held encoded_;
  std::string_view view_;
};

class DocumentWriter {
 public:
  const std::string& json() const { return json_; }

  void value(PyObject* value, const Place& place) {
    if (PyUnicode_Check(value)) quote(Utf8(value).view());
    else if (value == Py_None) json_ += "null";
    else if (PyBool_Check(value)) json_ += value == Py_True ? "true" : "false";
    else if (PyLong_Check(value)) json_ += Utf8(held(PyLong_Type.tp_repr(value)).get()).view();
    else if (PyFloat_Check(value)) number(PyFloat_AS_DOUBLE(value), place);
    else if (PyDict_CheckExact(value)) dict(value, inside(place));
    else if (PyList_Check(value) || PyTuple_Check(value)) list(value, inside(place));
    else if (is_mapping(value)) mapping(value, inside(place));
    else
      caller::fail(BW_USAGE_TYPE,
                   "a document holds text, numbers, true, false, None, lists and dicts, not " +
                       std::string(Py_TYPE(value)->tp_name),
                   place.pointer());
  }

 private:
  static Place inside(const Place& place) {
    if (place.depth == deepest)
      caller::fail(BW_USAGE_TYPE, "the document is nested too deeply, or holds itself");
    return {&place, {}, 0, place.depth + 1};
  }
  static bool is_mapping(PyObject* value) {
    const int found = PyObject_IsInstance(value, imported("collections.abc", "Mapping").get());
    must(found);
    return found == 1;
  }

  void number(double number, const Place& place) {
    char* text = PyOS_double_to_string(number, 'r', 0, Py_DTSF_ADD_DOT_0, nullptr);
    if (text == nullptr) throw Raised{};
    const std::string shown = text;
    PyMem_Free(text);
    if (!std::isfinite(number))
      caller::fail(BW_USAGE_TYPE, shown + " stands here; wanted is a number, or text", place.pointer());
    json_ += shown;
  }
  void list(PyObject* list, Place place) {
    json_ += '[';
    for (Py_ssize_t i = 0; i < PySequence_Fast_GET_SIZE(list); ++i) {
      if (i > 0) json_ += ',';
      place.index = i;
      value(held_too(PySequence_Fast_GET_ITEM(list, i)).get(), place);
    }
    json_ += ']';
  }
  void dict(PyObject* dict, const Place& place) {
    json_ += '{';
    PyObject *name = nullptr, *entry = nullptr;
    for (Py_ssize_t at = 0; PyDict_Next(dict, &at, &name, &entry) != 0;)
      member(held_too(name).get(), held_too(entry).get(), place);
    json_ += '}';
  }
  void mapping(PyObject* mapping, const Place& place) {
    json_ += '{';
    const Held items = held(PyMapping_Items(mapping));
    for (Py_ssize_t i = 0; i < PyList_GET_SIZE(items.get()); ++i) {
      const Held pair = held(PySequence_Tuple(PyList_GET_ITEM(items.get(), i)));
      if (PyTuple_GET_SIZE(pair.get()) != 2)
        caller::fail(BW_USAGE_TYPE, "an item here is no pair of a name and a value", place.outer->pointer());
      member(PyTuple_GET_ITEM(pair.get(), 0), PyTuple_GET_ITEM(pair.get(), 1), place);
    }
    json_ += '}';
  }
  void member(PyObject* name, PyObject* entry, Place place) {
    const Held shown = PyUnicode_Check(name) ? held_too(name) : name_of(name, place);
    const Utf8 text(shown.get());
    if (json_.back() != '{') json_ += ',';
    quote(text.view());
    json_ += ':';
    place.name = text.view();
    value(entry, place);
  }
  /// Whole numbers will do for a name.
  static Held name_of(PyObject* name, const Place& place) {
    if (PyLong_Check(name) && !PyBool_Check(name)) return held(PyLong_Type.tp_repr(name));
    const Held shown = held(PyObject_Repr(name));
    caller::fail(
        BW_USAGE_TYPE,
        "the names of an object are text, but this one has " + std::string(Utf8(shown.get()).view()) + " too",
        place.outer->pointer());
  }

  void quote(std::string_view text) {
    json_ += '"';
    for (std::size_t first = 0, i = 0;; ++i) {
      const bool plain =
          i < text.size() && text[i] != '"' && text[i] != '\\' && static_cast<unsigned char>(text[i]) >= 0x20;
      if (plain) continue;
      json_.append(text, first, i - first);
      if (i == text.size()) break;
      escape(text[i]);
      first = i + 1;
    }
    json_ += '"';
  }
  void escape(char byte) {
    char text[8];
    if (byte == '"' || byte == '\\') std::snprintf(text, sizeof text, "\\%c", byte);
    else std::snprintf(text, sizeof text, "\\u%04x", static_cast<unsigned>(byte));
    json_ += text;
  }

  std::string json_;
};

// ---- One figure ----------------------------------------------------------------------------------

std::string_view formula_name(PyObject* name) {
  if (!PyUnicode_Check(name))
    caller::fail(BW_USAGE_TYPE, std::string("a formula's name is text, not ") + Py_TYPE(name)->tp_name);
  Py_ssize_t size = 0;
  const char* text = PyUnicode_AsUTF8AndSize(name, &size);
  if (text == nullptr) {
    PyErr_Clear();
    caller::fail(BW_USAGE_NAME, "a formula's name is text that is UTF-8");
  }
  return {text, static_cast<std::size_t>(size)};
}

double formula_argument(PyObject* argument, Py_ssize_t number) {
  if (PyFloat_CheckExact(argument)) return PyFloat_AS_DOUBLE(argument);
  const double value = PyFloat_AsDouble(argument);
  if (value != -1 || !PyErr_Occurred()) return value;
  if (!PyErr_ExceptionMatches(PyExc_TypeError)) throw Raised{};
  PyErr_Clear();
  caller::fail(BW_USAGE_TYPE,
               "argument " + std::to_string(number) + " is a number, not " + Py_TYPE(argument)->tp_name);
}

PyObject* formula(PyObject*, PyObject* const* given, Py_ssize_t count) {
  try {
    if (count == 0) caller::fail(BW_USAGE_TYPE, "a formula's name is wanted, and its arguments");
    const std::string_view name = formula_name(given[0]);
    std::array<double, 16> arguments{};  // more than any formula takes
    const auto size = static_cast<std::size_t>(count - 1);
    for (std::size_t i = 0; i < std::min(size, arguments.size()); ++i)
      arguments[i] = formula_argument(given[i + 1], static_cast<Py_ssize_t>(i) + 1);
    return PyFloat_FromDouble(caller::figure(name, arguments.data(), std::min(size, arguments.size())));
  } catch (const Raised&) {
  } catch (const caller::Failure& failure) {
    raise_failure(failure);
  } catch (const std::exception& fault) {
    PyErr_SetString(PyExc_RuntimeError, fault.what());
  }
  return nullptr;
}

}  // namespace

PyObject* decode_answer(const char* text, std::size_t size) {
  return AnswerReader(text, size).whole().release();
}

PyObject* encode_value(PyObject* value, const char* pointer, std::size_t pointer_size) {
  DocumentWriter writer;
  writer.value(value, {nullptr, {pointer, pointer_size}, 0, 0});
  return PyBytes_FromStringAndSize(writer.json().data(), static_cast<Py_ssize_t>(writer.json().size()));
}

void raise_failure(const caller::Failure& failure) {
  try {
    const Held make = imported("buttonworth.errors", "from_failure");
    const auto text = [](const std::string& utf8) {
      return held(PyUnicode_DecodeUTF8(utf8.data(), static_cast<Py_ssize_t>(utf8.size()), "replace"));
    };
    const Held line = text(failure.text), list = text(failure.list);
    const Held error = held(PyObject_CallFunctionObjArgs(make.get(), line.get(), list.get(), nullptr));
    PyErr_SetObject(reinterpret_cast<PyObject*>(Py_TYPE(error.get())), error.get());
  } catch (const Raised&) {
  }
}

int add_formula(PyObject* module) {
  static PyMethodDef functions[] = {
      {"formula", reinterpret_cast<PyCFunction>(reinterpret_cast<void (*)()>(formula)), METH_FASTCALL,
       "formula($module, name, /, *arguments)\n--\n\nOne figure of plain numbers."},
      {nullptr, nullptr, 0, nullptr}};
  return PyModule_AddFunctions(module, functions);
}
