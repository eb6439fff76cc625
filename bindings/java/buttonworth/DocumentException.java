package buttonworth;

import java.util.List;
import java.util.Map;

/** The document is wrong. */
public final class DocumentException extends ButtonworthException {
  private static final long serialVersionUID = 1;

  DocumentException(String text, List<Map<String, Object>> errors) {
    super(text, errors);
  }
}
