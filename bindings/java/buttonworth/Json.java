package buttonworth;

import com.google.gson.Gson;
import com.google.gson.GsonBuilder;
import com.google.gson.ToNumberPolicy;
import com.google.gson.stream.JsonWriter;
import java.io.IOException;
import java.io.StringWriter;
import java.lang.reflect.Array;
import java.nio.ByteBuffer;
import java.nio.CharBuffer;
import java.nio.charset.CharacterCodingException;
import java.nio.charset.StandardCharsets;
import java.util.Collection;
import java.util.List;
import java.util.Map;

/**
 * JSON text and Java's own kinds: an object is a Map in its order, a list a List, a number a Long or a Double,
 * JSON's null is null.
 */
public final class Json {
  private static final Gson GSON =
      new GsonBuilder().setObjectToNumberStrategy(ToNumberPolicy.LONG_OR_DOUBLE).create();
  private static final int DEEPEST = 512; // the most that a context's limit can be set to

  private final JsonWriter writer;

  private Json(JsonWriter writer) {
    this.writer = writer;
  }

  /** What stands at a JSON pointer, such as "/routes/as it is/net", of an answer; null where nothing does. */
  public static Object at(Object answer, String pointer) {
    Object found = answer;
    for (String part : pointer.isEmpty() ? new String[0] : pointer.substring(1).split("/", -1)) {
      String name = part.replace("~1", "/").replace("~0", "~");
      if (found instanceof Map) {
        found = ((Map<?, ?>) found).get(name);
      } else if (found instanceof List && name.matches("\\d{1,9}")) {
        List<?> list = (List<?>) found;
        int index = Integer.parseInt(name);
        found = index < list.size() ? list.get(index) : null;
      } else {
        return null;
      }
    }
    return found;
  }

  /** The JSON text of a value: maps by name, collections, arrays, text, numbers, booleans, null. */
  public static String write(Object value) throws ButtonworthException {
    return write(value, "");
  }

  private static String write(Object value, String pointer) throws ButtonworthException {
    StringWriter text = new StringWriter();
    JsonWriter writer = new JsonWriter(text);
    writer.setHtmlSafe(false);
    writer.setSerializeNulls(true);
    writer.setLenient(true); // so that a single value may stand alone
    try {
      new Json(writer).write(value, pointer, 0);
    } catch (IOException fault) {
      throw new IllegalStateException(fault); // text is written to memory
    }
    return text.toString();
  }

  static Object read(byte[] json) {
    return GSON.fromJson(new String(json, StandardCharsets.UTF_8), Object.class);
  }

  static Map<String, Object> object(Object value) {
    @SuppressWarnings("unchecked") // an object of JSON has names and values
    Map<String, Object> object = (Map<String, Object>) value;
    return object;
  }

  private void write(Object value, String pointer, int depth) throws IOException, ButtonworthException {
    if (depth > DEEPEST) throw refused("", "the document is nested too deeply, or holds itself");
    if (value == null) {
      writer.nullValue();
    } else if (value instanceof CharSequence) {
      writer.value(value.toString());
    } else if (value instanceof Boolean) {
      writer.value((Boolean) value);
    } else if (value instanceof Number) {
      write((Number) value, pointer);
    } else if (value instanceof Map) {
      write((Map<?, ?>) value, pointer, depth);
    } else if (value instanceof Collection) {
      write((Collection<?>) value, pointer, depth);
    } else if (value.getClass().isArray()) {
      writeArray(value, pointer, depth);
    } else {
      throw refused(pointer, kind(value) + " has no place in a document");
    }
  }

  private void write(Number number, String pointer) throws IOException, ButtonworthException {
    if (!number.toString().matches("-?[0-9]+([.][0-9]+)?([eE][+-]?[0-9]+)?")) {
      throw refused(pointer, number + " stands here; wanted is a number, or text");
    }
    writer.value(number);
  }

  private void write(Map<?, ?> object, String pointer, int depth) throws IOException, ButtonworthException {
    writer.beginObject();
    for (Map.Entry<?, ?> entry : object.entrySet()) {
      if (!(entry.getKey() instanceof String)) {
        throw refused(pointer, "the names of an object are text, but this one has " + kind(entry.getKey()) + " too");
      }
      String name = (String) entry.getKey();
      writer.name(name);
      write(entry.getValue(), pointer + "/" + name.replace("~", "~0").replace("/", "~1"), depth + 1);
    }
    writer.endObject();
  }

  private void write(Collection<?> list, String pointer, int depth) throws IOException, ButtonworthException {
    writer.beginArray();
    int index = 0;
    for (Object entry : list) write(entry, pointer + "/" + index++, depth + 1);
    writer.endArray();
  }

  private void writeArray(Object array, String pointer, int depth) throws IOException, ButtonworthException {
    writer.beginArray();
    for (int i = 0; i < Array.getLength(array); i++) write(Array.get(array, i), pointer + "/" + i, depth + 1);
    writer.endArray();
  }

  // ---- What comes in from programs ----------------------------------------------------------------

  static String kind(Object value) {
    return value == null ? "null" : "a " + value.getClass().getSimpleName();
  }

  /** The exception for a mistake of the program that calls. */
  static ButtonworthException refused(String pointer, String text) {
    try {
      Core.refuse(pointer.getBytes(StandardCharsets.UTF_8), text.getBytes(StandardCharsets.UTF_8));
    } catch (ButtonworthException failure) {
      return failure;
    }
    throw new IllegalStateException(text); // refuse always throws
  }

  /** The text as UTF-8. */
  static byte[] bytes(Object text, String what) throws ButtonworthException {
    if (!(text instanceof CharSequence)) throw refused("", what + " is text, not " + kind(text));
    try {
      ByteBuffer buffer = StandardCharsets.UTF_8.newEncoder().encode(CharBuffer.wrap((CharSequence) text));
      byte[] bytes = new byte[buffer.remaining()];
      buffer.get(bytes);
      return bytes;
    } catch (CharacterCodingException fault) {
      throw refused("", what + " has half a character, a surrogate without its other");
    }
  }

  /** A request or options: text or bytes as they stand, a map as JSON. */
  static byte[] document(Object document, String what) throws ButtonworthException {
    if (document instanceof byte[]) return (byte[]) document;
    if (document instanceof Map) return bytes(write(document), what);
    if (document instanceof CharSequence) return bytes(document, what);
    throw refused("", what + " is text or a map, not " + kind(document));
  }

  /** One cell of a plan's spreadsheet form. */
  static byte[] cell(Object value, String pointer) throws ButtonworthException {
    if (value instanceof CharSequence) return bytes(value, "a value");
    return bytes(write(value, pointer), "a value");
  }
}
