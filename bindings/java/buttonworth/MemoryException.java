package buttonworth;

import java.util.List;
import java.util.Map;

/** There was not enough memory; the context is usable. */
public final class MemoryException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  MemoryException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
