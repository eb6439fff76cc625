package buttonworth;

import java.util.List;
import java.util.Map;

/** A fault of the library. */
public final class InternalException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  InternalException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
