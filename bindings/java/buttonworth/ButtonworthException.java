package buttonworth;

import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;

/**
 * What a call came to when it did not succeed. Each class of errors has a subclass. The message says in one
 * line where, what was found, and what would be right; the fields are those of the first of the errors.
 */
public abstract class ButtonworthException extends Exception {
  private static final long serialVersionUID = 1;

  private final transient List<Map<String, Object>> errors;
  private final String errorClass;
  private final String code;
  private final int status;
  private final String pointer;

  ButtonworthException(String text, List<Map<String, Object>> errors) {
    super(text);
    Map<String, Object> first = errors.get(0);
    this.errors = errors;
    this.errorClass = (String) first.get("class");
    this.code = (String) first.get("code");
    this.status = ((Number) first.get("status")).intValue();
    this.pointer = (String) first.get("pointer");
  }

  /** The class's name, such as "document". */
  public String errorClass() {
    return errorClass;
  }

  /** The code's name, such as "unit". */
  public String code() {
    return code;
  }

  /** The code's number, such as 209; it never changes its meaning. */
  public int status() {
    return status;
  }

  /** Where in the document, as a JSON pointer; empty for the whole of it, or for no place. */
  public String pointer() {
    return pointer;
  }

  /** The same as the message. */
  public String text() {
    return getMessage();
  }

  /**
   * All errors found together, each with class, code, status, pointer and text. Null after the exception was
   * sent to another program.
   */
  public List<Map<String, Object>> errors() {
    return errors;
  }

  /** The exception for a failure of the library, whose errors are a JSON list. Called by the compiled part. */
  static ButtonworthException of(byte[] text, byte[] list) {
    String said = new String(text, StandardCharsets.UTF_8);
    List<Map<String, Object>> errors = new ArrayList<>();
    for (Object error : (List<?>) Json.read(list)) errors.add(Json.object(error));
    switch ((String) errors.get(0).get("class")) {
      case "usage": return new UsageException(said, errors);
      case "document": return new DocumentException(said, errors);
      case "domain": return new DomainException(said, errors);
      case "no solution": return new NoSolutionException(said, errors);
      case "cancelled": return new CancelledException(said, errors);
      case "busy": return new BusyException(said, errors);
      case "memory": return new MemoryException(said, errors);
      default: return new InternalException(said, errors);
    }
  }
}
