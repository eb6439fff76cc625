package buttonworth;

import java.lang.ref.Cleaner;
import java.nio.file.Files;
import java.nio.file.Path;

/** The compiled part, and who frees what it makes. */
final class Library {
  static final Cleaner CLEANER = Cleaner.create();

  private Library() {}

  static void load() {
    Path beside = beside(System.mapLibraryName("buttonworth_java"));
    if (beside != null && Files.exists(beside)) {
      System.load(beside.toString());
    } else {
      System.loadLibrary("buttonworth_java"); // from -Djava.library.path
    }
  }

  /** Where a file would lie beside the jar, or beside the folder of classes; null if that is no folder. */
  private static Path beside(String name) {
    try {
      Path classes = Path.of(Library.class.getProtectionDomain().getCodeSource().getLocation().toURI());
      return classes.toAbsolutePath().resolveSibling(name);
    } catch (java.net.URISyntaxException | RuntimeException elsewhere) {
      return null;
    }
  }
}
