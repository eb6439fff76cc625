package buttonworth;

import java.util.List;
import java.util.Map;

/** Context.cancel was called. */
public final class CancelledException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  CancelledException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
