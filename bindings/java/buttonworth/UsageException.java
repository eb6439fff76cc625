package buttonworth;

import java.util.List;
import java.util.Map;

/** The program that calls is wrong: a closed handle, a pointer to nothing, NaN. */
public final class UsageException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  UsageException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
